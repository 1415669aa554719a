"""The REST door: what it answers, and that it answers anything at all in order."""

import json

import httpx
import jsonschema
import pytest
import schemathesis

from naptuft import services
from naptuft.calculation import result_as_json
from naptuft.design_sheet import design_as_json
from naptuft.web.desk import Desk
from naptuft.web.rest import create_api

API = create_api(Desk())
SCHEMA = schemathesis.openapi.from_asgi("/openapi.json", API)


def open_door(api) -> httpx.AsyncClient:
    """A way in that runs the application itself."""
    return httpx.AsyncClient(transport=httpx.ASGITransport(api), base_url="http://localhost")


@pytest.fixture
async def door(demo_desk):
    async with open_door(create_api(demo_desk)) as way_in:
        yield way_in


async def test_the_list_names_every_calculation(door):
    assert [item["name"] for item in (await door.get("/calculations")).json()] == list(services.CALCULATIONS)


@pytest.mark.parametrize("name", services.CALCULATIONS)
async def test_a_declaration_carries_what_is_needed_to_ask(door, name):
    told = (await door.get(f"/calculations/{name}")).json()
    assert [item["name"] for item in told["inputs"]] == [f.name for f in services.CALCULATIONS[name].fields]
    answer = await door.post(f"/calculations/{name}", json={"inputs": told["example"]})
    assert answer.status_code == 200
    own = result_as_json(services.CALCULATIONS[name].answer(told["example"]))
    assert answer.json() == {"calculation": name, **json.loads(json.dumps(own))}


@pytest.mark.parametrize("name", services.SHEETS)
async def test_a_whole_design_is_worked_out_from_its_declaration(door, name):
    told = (await door.get(f"/designs/{name}")).json()
    answer = await door.post(f"/designs/{name}", json={"inputs": told["example"]})
    assert answer.status_code == 200
    own = design_as_json(services.SHEETS[name].answer(told["example"]))
    assert answer.json() == json.loads(json.dumps(own))


async def test_what_a_figure_follows_is_told(door):
    example = services.CALCULATIONS["stock-tube"].example()
    answer = (await door.post("/calculations/stock-tube/sensitivity", json={"inputs": example})).json()
    slopes = {(each["input"], each["figure"]): each["per_cent"] for each in answer["sensitivity"]}
    assert slopes["tube_length", "glue_mass"] == pytest.approx(1.0, abs=1e-3)


async def test_faulty_inputs_answer_every_fault(door):
    answer = await door.post("/calculations/brush", json={"inputs": {"width": "50 g", "wdith": 3}})
    assert answer.status_code == 422
    places = [fault["place"] for fault in answer.json()["faults"]]
    assert "wdith" in places
    assert "width" in places
    assert all(set(fault) == {"place", "value", "allowed", "mend"} for fault in answer.json()["faults"])


async def test_an_unknown_calculation_is_not_found(door):
    assert (await door.get("/calculations/warp-drive")).status_code == 404
    assert (await door.post("/calculations/warp-drive", json={"inputs": {}})).status_code == 404


async def test_the_plan_keeps_to_its_schema(door):
    schema = (await door.get("/schema/plan")).json()
    jsonschema.Draft202012Validator.check_schema(schema)
    plan = (await door.get("/plan")).json()
    jsonschema.validate(plan, schema)
    assert plan["orders"]


async def test_no_plan_yet_is_not_found():
    async with open_door(API) as way_in:
        assert (await way_in.get("/plan")).status_code == 404


async def test_the_docs_page_is_plain_and_names_every_address(door):
    page = (await door.get("/docs")).text
    for path in (await door.get("/openapi.json")).json()["paths"]:
        assert f"/api{path}" in page
    assert "https://" not in page


@SCHEMA.parametrize()
def test_any_request_is_answered_as_the_description_says(case):
    case.call_and_validate()
