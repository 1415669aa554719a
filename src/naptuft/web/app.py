"""The application: pages, REST and files under one roof, for one desk."""

from __future__ import annotations

import threading
import time
from collections.abc import Awaitable, Callable
from importlib import resources
from pathlib import Path
from typing import cast

from fastapi import FastAPI, HTTPException
from fastapi.exception_handlers import http_exception_handler
from fastapi.responses import FileResponse
from fastapi.staticfiles import StaticFiles
from nicegui import app as pages
from nicegui import core, ui
from nicegui.client import Client
from nicegui.page import page
from starlette.exceptions import HTTPException as StarletteHTTPException
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.requests import Request
from starlette.responses import Response

from naptuft import services
from naptuft.web import blends_cuts, design_bench, files, order_book, product_sheet, rest, stock_room, week_board
from naptuft.web.board_sheets import capacity, changes, materials, odds, promise, reasons, trade
from naptuft.web.desk import Desk
from naptuft.web.frame import HEAD, not_there, sheet

STATIC = Path(__file__).parent / "static"
FONTS = {
    "Barlow-Regular.ttf": "fontpkg_barlow",
    "Barlow-Italic.ttf": "fontpkg_barlow",
    "Barlow-Medium.ttf": "fontpkg_barlow",
    "Barlow-SemiBold.ttf": "fontpkg_barlow",
    "BarlowCondensed-Medium.ttf": "fontpkg_barlow_condensed",
    "BarlowCondensed-SemiBold.ttf": "fontpkg_barlow_condensed",
}
LOOPBACK = ("127.0.0.1", "localhost")
POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; connect-src 'self' ws: wss:; frame-ancestors 'none'; base-uri 'self'; form-action 'self'"
)


def create_app(desk: Desk, host: str = "127.0.0.1") -> FastAPI:
    """Build the whole application around one desk.

    host  the address served on; on this PC alone, requests under any other name are refused
    """
    outer = FastAPI(title="naptuft", docs_url=None, redoc_url=None, openapi_url=None)
    outer.state.asked = 0.0
    outer.mount("/api", rest.create_api(desk))
    outer.include_router(files.create_router(desk))
    outer.mount("/static", StaticFiles(directory=STATIC), name="static")

    @outer.get("/fonts/{name}", include_in_schema=False)
    def font(name: str) -> FileResponse:
        if name not in FONTS:
            raise HTTPException(404)
        path = Path(str(resources.files(FONTS[name]) / "files" / name))
        return FileResponse(path, media_type="font/ttf", headers={"Cache-Control": "public, max-age=86400"})

    @outer.middleware("http")
    async def guard(request: Request, answer: Callable[[Request], Awaitable[Response]]) -> Response:
        outer.state.asked = time.monotonic()
        response = await answer(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "same-origin"
        return response

    if host in LOOPBACK:
        outer.add_middleware(TrustedHostMiddleware, allowed_hosts=list(LOOPBACK))

    ui.add_head_html(HEAD, shared=True)
    order_book.register(desk)
    design_bench.register(desk)
    product_sheet.register(desk)
    stock_room.register(desk)
    blends_cuts.register(desk)
    week_board.register(desk)
    for each in (odds, reasons, changes, promise, materials, capacity, trade):
        each.register(desk)

    @pages.on_page_exception
    def page_failed() -> None:
        with sheet(Desk(), 0, name="Sheet not drawn"):
            ui.label("This sheet could not be drawn. The server's log tells why; the desk is as it was.")

    @pages.exception_handler(404)
    async def nowhere(request: Request, problem: Exception) -> Response:
        if request.scope.get("endpoint") not in (None, pages):
            return await http_exception_handler(request, cast(StarletteHTTPException, problem))
        with Client(page(""), request=request) as client:
            not_there(desk, "It may come from an older plan, or have a slip of the pen in it.")
        return client.build_response(request, 404)

    ui.run_with(
        outer,
        title="naptuft",
        favicon=STATIC / "favicon.svg",
        dark=False,
        tailwind=False,
        show_welcome_message=False,
        language="en-GB",
    )
    core.sio.eio.cors_allowed_origins = None
    return outer


def serve(host: str = "127.0.0.1", port: int = 8600, book_path: Path | None = None, open_browser: bool = False) -> None:
    """Serve the pages until stopped.

    host          127.0.0.1 by default: this PC only
    book_path     a workbook to lay on the desk first; raises BookError or FileError when it has faults
    open_browser  show the first page in the browser of this PC
    """
    import uvicorn

    desk = Desk()
    if book_path is not None:
        file = book_path.read_bytes() if book_path.is_file() else None
        desk.lay(services.read_book(book_path), book_path.name, file)
    application = create_app(desk, host)
    threading.Thread(target=_warm, args=(application,), daemon=True).start()
    address = f"http://{'127.0.0.1' if host == '0.0.0.0' else host}:{port}/"
    print(f"naptuft is served at {address} (Ctrl-C stops it)")
    if open_browser:
        import webbrowser

        threading.Timer(1.0, webbrowser.open, (address,)).start()
    uvicorn.run(application, host=host, port=port, log_level="warning", ws_max_size=16 * 1024 * 1024)


QUIET = 1.5
"""Seconds without a request after which the server has time of its own."""


def _warm(application: FastAPI) -> None:
    """Load what the first calculation would wait for: whole designs first, the rest while nobody asks for a page."""
    for declared in (*services.SHEETS.values(), *services.CALCULATIONS.values()):
        while time.monotonic() - application.state.asked < QUIET:
            time.sleep(0.1)
        declared.answer(declared.example())
