"""Desks, simulated visitors and real servers for the tests of the pages."""

from __future__ import annotations

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Callable, Iterator
from pathlib import Path

import httpx
import pytest

from naptuft import services
from naptuft.book.model import Book
from naptuft.planning.plan import Plan
from naptuft.web.desk import Desk

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
EFFORT = 1


@pytest.fixture(scope="session")
def demo() -> tuple[Book, Plan]:
    """The Quillbeck book and a quickly made plan of it."""
    book = services.demo_book()
    return book, services.plan_book(book, effort=EFFORT)


@pytest.fixture
def empty_desk() -> Desk:
    """A desk with nothing on it; what is planned there is planned quickly."""
    return Desk(effort=EFFORT)


@pytest.fixture
def demo_desk(demo: tuple[Book, Plan]) -> Desk:
    """A desk with the Quillbeck book and its plan."""
    desk = Desk(effort=EFFORT)
    desk.lay(demo[0], "Quillbeck demo")
    desk.keep(demo[1], 1.0)
    return desk


@contextlib.asynccontextmanager
async def visitor(desk: Desk) -> AsyncIterator:
    """A simulated visitor of the whole application around a desk."""
    from nicegui.testing.general import nicegui_reset_globals
    from nicegui.testing.user import User

    before = dict(sys.modules)
    os.environ["NICEGUI_USER_SIMULATION"] = "true"
    try:
        with nicegui_reset_globals():
            from naptuft.web.app import create_app

            outer = create_app(desk)
            async with outer.router.lifespan_context(outer):
                transport = httpx.ASGITransport(outer)
                async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
                    yield User(client)
    finally:
        os.environ.pop("NICEGUI_USER_SIMULATION", None)
        sys.modules.update(before)


@pytest.fixture
async def user(demo_desk: Desk) -> AsyncIterator:
    """Someone who opens the pages when the demo is planned."""
    async with visitor(demo_desk) as someone:
        yield someone


@pytest.fixture
async def newcomer(empty_desk: Desk) -> AsyncIterator:
    """Someone who opens the pages when nothing lies on the desk."""
    async with visitor(empty_desk) as someone:
        yield someone


def free_port() -> int:
    """A port nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextlib.contextmanager
def served(*command: str) -> Iterator[str]:
    """Run a command that serves the pages on the port given to it; yields the address."""
    port = free_port()
    address = f"http://127.0.0.1:{port}/"
    process = subprocess.Popen(
        [sys.executable, *(part.format(port=port) for part in command)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        for _ in range(600):
            if process.poll() is not None:
                assert process.stderr is not None
                raise RuntimeError(process.stderr.read())
            with contextlib.suppress(httpx.HTTPError):
                if httpx.get(address, timeout=5).status_code == 200:
                    break
            time.sleep(0.2)
        yield address
    finally:
        process.terminate()
        process.wait(timeout=20)
        assert process.stderr is not None
        process.stderr.close()


@pytest.fixture(scope="session")
def demo_address() -> Iterator[str]:
    """A server with the demo planned."""
    with served(str(Path(__file__).parent / "demo_server.py"), "{port}") as address:
        yield address


@pytest.fixture
def new_address() -> Iterator[str]:
    """A server just started by the command line, with nothing on its desk."""
    with served("-m", "naptuft", "serve", "--port", "{port}", "--no-browser") as address:
        yield address


@pytest.fixture(scope="module")
def chromium() -> Iterator:
    """The system's Chromium; closed with its module, as its event loop bars those of other tests."""
    from playwright.sync_api import sync_playwright

    path = os.environ.get("NAPTUFT_CHROMIUM") or shutil.which("chromium")
    if path is None:
        pytest.skip("no Chromium on this machine")
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def open_page(chromium) -> Iterator[Callable]:
    """Opens an address in a window of its own; at the end nothing may have failed or come from elsewhere."""
    contexts, troubles = [], []

    def open_at(address: str, **facts):
        context = chromium.new_context(viewport={"width": 1280, "height": 800}, **facts)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(30_000)
        page.on("console", lambda said: troubles.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda error: troubles.append(str(error)))
        page.on("request", lambda asked: troubles.append(asked.url) if _outside(asked.url) else None)
        page.goto(address)
        page.wait_for_selector(".sheet")
        page.wait_for_function("window.did_handshake === true")
        return page

    yield open_at
    for context in contexts:
        context.close()
    assert troubles == []


def _outside(address: str) -> bool:
    return not address.startswith(("http://127.0.0.1", "ws://127.0.0.1", "blob:", "data:"))
