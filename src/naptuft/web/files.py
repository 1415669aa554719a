"""Files that come and go: the workbook dropped in, the plan's folder as a zip, the week board's data."""

from __future__ import annotations

import io
import json
import re
import tempfile
import zipfile
from pathlib import Path

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response
from starlette.concurrency import run_in_threadpool

from naptuft import services
from naptuft.design_sheet import design_as_json
from naptuft.errors import DesignError
from naptuft.web.board import board_data
from naptuft.web.design_bench import read_given
from naptuft.web.desk import Desk

MOST_BYTES = 64 * 1024 * 1024
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def create_router(desk: Desk) -> APIRouter:
    """Routes for the files of one desk. A page of another site cannot send the header they ask for."""
    router = APIRouter(prefix="/desk", include_in_schema=False)

    @router.post("/book")
    async def take_book(request: Request, name: str = "book.xlsx") -> dict[str, int]:
        if "x-naptuft" not in request.headers:
            raise HTTPException(403, "books are taken from our own pages")
        file = bytearray()
        async for chunk in request.stream():
            file += chunk
            if len(file) > MOST_BYTES:
                raise HTTPException(413, f"a book holds at most {MOST_BYTES // 2**20} MB")
        faults = await run_in_threadpool(desk.read, Path(name).name, bytes(file))
        return {"faults": len(faults)}

    @router.get("/book")
    def give_book() -> Response:
        if desk.book is None:
            raise HTTPException(404, "no book lies on the desk")
        file = desk.book_file or _workbook(desk)
        return _attached(file, f"{_stem(desk.book_name)}.xlsx", XLSX)

    @router.get("/plan")
    def give_plan() -> Response:
        if desk.plan is None or desk.book is None:
            raise HTTPException(404, "nothing is planned yet")
        if "zip" not in desk.kept:
            desk.kept["zip"] = _zipped(desk)
        return _attached(desk.kept["zip"], f"{_stem(desk.book_name)}-plan.zip", "application/zip")

    @router.get("/design/{name}.{ending}")
    async def give_design(name: str, ending: str, given: str = "") -> Response:
        if name not in services.SHEETS or ending not in ("pdf", "json"):
            raise HTTPException(404, "no whole design of this name")
        try:
            design = await run_in_threadpool(services.SHEETS[name].answer, read_given(given))
        except DesignError as error:
            raise HTTPException(422, str(error)) from None
        if ending == "json":
            text = json.dumps(design_as_json(design), ensure_ascii=False, indent=1)
            return _attached(text.encode(), f"{name}.json", "application/json")
        plant = desk.book.settings.plant if desk.book else ""
        return _attached(
            await run_in_threadpool(services.design_paper, design, plant), f"{name}.pdf", "application/pdf"
        )

    @router.get("/board")
    def give_board() -> Response:
        if desk.plan is None or desk.book is None:
            raise HTTPException(404, "nothing is planned yet")
        if "board" not in desk.kept:
            desk.kept["board"] = json.dumps(board_data(desk.book, desk.plan), separators=(",", ":")).encode()
        return Response(desk.kept["board"], media_type="application/json", headers={"Cache-Control": "no-cache"})

    @router.get("/board/changed")
    def give_changed_board() -> Response:
        run = desk.runs.get("changes")
        if run is None or run.answer is None or desk.plan is None:
            raise HTTPException(404, "no plan was changed")
        told = board_data(run.answer.book, run.answer.plan, desk.plan)
        return Response(json.dumps(told, separators=(",", ":")).encode(), media_type="application/json")

    return router


def _stem(name: str) -> str:
    return re.sub(r"[^A-Za-z0-9._-]+", "-", Path(name).stem).strip("-.") or "book"


def _attached(file: bytes, name: str, kind: str) -> Response:
    return Response(file, media_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'})


def _workbook(desk: Desk) -> bytes:
    from naptuft.book.files import write_book

    assert desk.book is not None
    with tempfile.TemporaryDirectory(prefix="naptuft-") as folder:
        path = Path(folder) / "book.xlsx"
        write_book(desk.book, path)
        return path.read_bytes()


def _zipped(desk: Desk) -> bytes:
    assert desk.plan is not None
    assert desk.book is not None
    with tempfile.TemporaryDirectory(prefix="naptuft-") as folder:
        root = Path(folder) / "plan"
        written = services.write_plan(desk.plan, desk.book, root)
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            for path in sorted(written):
                archive.write(path, path.relative_to(root))
        return packed.getvalue()
