"""The REST door: calculations, the plan and its schema, with a docs page that needs nothing from outside."""

from __future__ import annotations

import dataclasses
import json
from decimal import Decimal
from html import escape
from typing import Annotated, Any

from fastapi import Body, FastAPI, HTTPException, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, Response
from pydantic import BaseModel
from starlette.routing import Match

from naptuft import __version__, services
from naptuft.calculation import Calculation, Field, result_as_json, write_value
from naptuft.design_sheet import DesignSheet, design_as_json
from naptuft.errors import Fault, NaptuftError
from naptuft.web.desk import Desk
from naptuft.web.rest_plan import create_plan_router

Inputs = Annotated[
    dict[str, Any],
    Body(
        embed=True,
        description="Values by input name; numbers are in the unit declared, text may carry its own: '2 1/2 in'.",
    ),
]


class FaultTold(BaseModel):
    """One thing wrong with what was sent."""

    place: str
    value: str
    allowed: str
    mend: str


class FaultsTold(BaseModel):
    """Every fault of what was sent."""

    faults: list[FaultTold]


class Trouble(BaseModel):
    """Why there is no answer, in words."""

    detail: str


WORKED: dict[int | str, dict[str, Any]] = {
    400: {"model": Trouble, "description": "the body is no JSON"},
    404: {"model": Trouble, "description": "none of this name"},
    422: {"model": FaultsTold, "description": "every fault of the inputs"},
}
PLANNED: dict[int | str, dict[str, Any]] = {
    400: {"model": Trouble, "description": "the body is no JSON"},
    404: {"model": Trouble, "description": "nothing is planned yet"},
    422: {"model": FaultsTold, "description": "every fault of what was asked"},
}


def field_as_json(field: Field) -> dict[str, Any]:
    """One declared input as plain JSON values."""
    facts: dict[str, Any] = {
        "name": field.name,
        "label": field.label,
        "kind": field.kind,
        "unit": field.unit,
        "help": field.help,
        "allowed": field.allowed,
        "required": field.required,
        "default": None if field.required else _plain(write_value(field, field.default)),
        "example": field.example,
    }
    if field.choices:
        facts["choices"] = list(field.choices)
    if field.columns:
        facts["columns"] = [field_as_json(column) for column in field.columns]
    return facts


def _plain(value: Any) -> Any:
    return str(value) if isinstance(value, Decimal) else value


def declared_as_json(declared: Calculation | DesignSheet) -> dict[str, Any]:
    """The declaration of a calculation or a whole design as plain JSON values."""
    return {
        "name": declared.name,
        "title": declared.title,
        "line": declared.line,
        "about": declared.about,
        "draws": isinstance(declared, DesignSheet) or declared.draw is not None,
        "inputs": [field_as_json(field) for field in declared.fields],
        "example": declared.example(),
    }


def _without_inputs(declaration: dict[str, Any]) -> dict[str, Any]:
    return {key: fact for key, fact in declaration.items() if key not in ("inputs", "example")}


def _weighed(declared: Calculation | DesignSheet, inputs: dict[str, Any]) -> list[dict[str, Any]]:
    return [dataclasses.asdict(each) for each in services.what_matters(declared, inputs)]


def faults_as_json(faults: tuple[Fault, ...]) -> list[dict[str, str]]:
    """Faults as plain JSON values."""
    return [{key: str(value) for key, value in dataclasses.asdict(fault).items()} for fault in faults]


def create_api(desk: Desk) -> FastAPI:
    """The REST application, to be mounted under /api."""
    api = FastAPI(
        title="naptuft",
        version=__version__,
        description="Engineering calculations and the plan on the desk, as plain JSON.",
        docs_url=None,
        redoc_url=None,
    )

    @api.exception_handler(NaptuftError)
    async def faulty(_request: Request, error: Exception) -> Response:
        assert isinstance(error, NaptuftError)
        return JSONResponse({"faults": faults_as_json(error.faults)}, status_code=422)

    @api.exception_handler(RequestValidationError)
    async def malformed(_request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        faults = tuple(
            Fault(
                ", ".join(str(part) for part in found["loc"]),
                found.get("input"),
                'a JSON object such as {"inputs": {"width": "63 mm"}}',
                found["msg"],
            )
            for found in error.errors()
        )
        return JSONResponse({"faults": faults_as_json(faults)}, status_code=422)

    @api.exception_handler(405)
    async def wrong_method(request: Request, _error: Exception) -> Response:
        allowed = {
            method
            for route in api.routes
            if route.matches(request.scope)[0] is not Match.NONE
            for method in getattr(route, "methods", ())
        }
        return JSONResponse(
            {"detail": "Method Not Allowed"}, status_code=405, headers={"Allow": ", ".join(sorted(allowed))}
        )

    def found(name: str) -> Calculation:
        if name not in services.CALCULATIONS:
            raise HTTPException(404, f"no calculation is named {name!r}; GET /api/calculations lists them")
        return services.CALCULATIONS[name]

    @api.get("/calculations", summary="List the calculations")
    def calculations() -> list[dict[str, Any]]:
        return [_without_inputs(declared_as_json(calculation)) for calculation in services.CALCULATIONS.values()]

    @api.get(
        "/calculations/{name}",
        summary="The declaration of one calculation",
        responses={404: {"model": Trouble, "description": "no calculation of this name"}},
    )
    def calculation(name: str) -> dict[str, Any]:
        return declared_as_json(found(name))

    @api.post(
        "/calculations/{name}",
        summary="Work out one calculation",
        responses=WORKED,
    )
    def work_out(name: str, inputs: Inputs) -> dict[str, Any]:
        return {"calculation": name, **result_as_json(found(name).answer(inputs))}

    @api.post(
        "/calculations/{name}/sensitivity",
        summary="Which input each figure of one calculation follows",
        responses=WORKED,
    )
    def weigh(name: str, inputs: Inputs) -> dict[str, Any]:
        return {"calculation": name, "sensitivity": _weighed(found(name), inputs)}

    def found_sheet(name: str) -> DesignSheet:
        if name not in services.SHEETS:
            raise HTTPException(404, f"no whole design is named {name!r}; GET /api/designs lists them")
        return services.SHEETS[name]

    @api.get("/designs", summary="List the whole designs")
    def designs() -> list[dict[str, Any]]:
        return [_without_inputs(declared_as_json(sheet)) for sheet in services.SHEETS.values()]

    @api.get(
        "/designs/{name}",
        summary="The declaration of one whole design",
        responses={404: {"model": Trouble, "description": "no whole design of this name"}},
    )
    def declared(name: str) -> dict[str, Any]:
        return declared_as_json(found_sheet(name))

    @api.post("/designs/{name}", summary="Work out one whole design, every part of it", responses=WORKED)
    def design(name: str, inputs: Inputs) -> dict[str, Any]:
        return design_as_json(found_sheet(name).answer(inputs))

    @api.post(
        "/designs/{name}/sensitivity",
        summary="Which input each head figure of a whole design follows",
        responses=WORKED,
    )
    def weigh_design(name: str, inputs: Inputs) -> dict[str, Any]:
        return {"design": name, "sensitivity": _weighed(found_sheet(name), inputs)}

    @api.get(
        "/plan",
        summary="The plan on the desk",
        responses={404: {"model": Trouble, "description": "nothing is planned yet"}},
    )
    def plan() -> Response:
        from naptuft.planning.plan_json import plan_text

        if desk.plan is None:
            raise HTTPException(404, "nothing is planned yet: drop in a book and plan it")
        return Response(plan_text(desk.plan), media_type="application/json")

    api.include_router(create_plan_router(desk, PLANNED))

    @api.get("/schema/plan", summary="The JSON Schema of the plan")
    def schema() -> dict[str, Any]:
        return services.plan_schema()

    @api.get("/", include_in_schema=False)
    @api.get("/docs", include_in_schema=False)
    def docs() -> HTMLResponse:
        return HTMLResponse(_docs_page(api))

    return api


def _docs_page(api: FastAPI) -> str:
    rows = "".join(
        f'<tr><th scope="row">{method.upper()}</th><td class="mono">/api{escape(path)}</td>'
        f"<td>{escape(route.get('summary', ''))}</td>"
        f"<td>{escape(', '.join(route['responses']))}</td></tr>"
        for path, methods in api.openapi()["paths"].items()
        for method, route in methods.items()
    )
    name, calculation = next(iter(services.CALCULATIONS.items()))
    example = json.dumps({"inputs": calculation.example()}, ensure_ascii=False, indent=1)
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>REST · naptuft</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1"><link rel="stylesheet" href="/static/sheet.css">'
        '<script src="/static/sheet.js" defer></script></head><body class="reading"><main>'
        "<h1>REST</h1><p>Plain JSON over HTTP, on this server. The same inputs, units and faults as the design "
        'bench and the command line. The machine-readable description is at <a href="/api/openapi.json">openapi.json</a>. '
        'Back to the <a href="/">order book</a>.</p>'
        '<table class="because"><thead><tr><th>method</th><th>address</th><th>what it does</th><th>answers</th></tr>'
        f"</thead><tbody>{rows}</tbody></table>"
        f'<h2>An example</h2><p>POST <span class="mono">/api/calculations/{escape(name)}</span> with</p>'
        f'<pre class="mono">{escape(example)}</pre>'
        "<p>A wrong input answers 422 with every fault: its place, value, what is allowed and the mend.</p>"
        "</main></body></html>"
    )
