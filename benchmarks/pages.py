"""How fast the pages are: a sheet until it can be used, an input until its answer, a frame of the week board.

Serves the demo on this PC and looks at it through the system's Chromium, drawn without a graphics card.
"""

import os
import shutil
import socket
import statistics
import subprocess
import sys
import time

import httpx

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
SERVE = """
import sys, uvicorn
from naptuft import services
from naptuft.web.app import create_app
from naptuft.web.desk import Desk
desk = Desk()
book = services.demo_book()
desk.lay(book, "Quillbeck demo")
desk.keep(services.plan_book(book, effort=1), 0.0)
uvicorn.run(create_app(desk), host="127.0.0.1", port=int(sys.argv[1]), log_level="warning")
"""
COPIES = 10
FRAMES = """(minutes) => {
  const board = getElement(document.querySelector(".board").id.slice(1));
  board.span(minutes, 0);
  const begun = performance.now();
  for (let frame = 0; frame < 30; frame += 1) {
    board.s.from += 3;
    board.drawBase();
    board.drawOver();
  }
  return (performance.now() - begun) / 30;
}"""


def row(what: str, milliseconds: float, bar: str) -> None:
    """Print one line of the table."""
    print(f"{what:<58}{milliseconds:>10.1f} ms   {bar}")


def open_seconds(page, address: str, ready: str) -> float:
    """Seconds from asking for a page until it is drawn and answers."""
    begun = time.perf_counter()
    page.goto(address)
    page.wait_for_selector(ready)
    page.wait_for_function("window.did_handshake === true")
    return time.perf_counter() - begun


ANSWER = """(value) => new Promise((tell) => {
  const input = document.querySelector('[data-mark="input-clear_length"]');
  const figures = document.querySelector('[data-mark="figures"]');
  const begun = performance.now();
  const watcher = new MutationObserver(() => {
    watcher.disconnect();
    requestAnimationFrame(() => tell(performance.now() - begun));
  });
  watcher.observe(figures, { childList: true, subtree: true, characterData: true });
  input.value = value;
  input.dispatchEvent(new Event("input", { bubbles: true }));
})"""


def many(route) -> None:
    """The board's data with every operation so many times over, on the same machines, later and later."""
    told = route.fetch().json()
    count, shift = len(told["work_orders"]), told["last"]
    told["work_orders"] = [
        {**order, "needs": [need + copy * count for need in order["needs"]]}
        for copy in range(COPIES)
        for order in told["work_orders"]
    ]
    told["operations"] = [
        [op[0], op[1] + copy * shift, op[2] + copy * shift, *op[3:5], op[5] + copy * count, *op[6:]]
        for copy in range(COPIES)
        for op in told["operations"]
    ]
    told["last"] = shift * COPIES
    route.fulfill(json=told)


def main() -> None:
    """Print the table."""
    from playwright.sync_api import sync_playwright

    path = os.environ.get("NAPTUFT_CHROMIUM") or shutil.which("chromium")
    if path is None:
        print("No Chromium on this machine: nothing measured.")
        return
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = subprocess.Popen([sys.executable, "-c", SERVE, str(port)])
    address = f"http://127.0.0.1:{port}/"
    try:
        while True:
            try:
                httpx.get(address)
                break
            except httpx.HTTPError:
                time.sleep(0.2)
        with sync_playwright() as player:
            browser = player.chromium.launch(executable_path=path, args=FLAGS)
            page = browser.new_page(viewport={"width": 1280, "height": 800})
            for name, place, ready in (
                ("order book", "", "tbody tr[data-row]"),
                ("design bench", "bench/brush", "[data-figure]"),
                ("week board", "board", '[data-ready="yes"]'),
                ("product sheet", "product/B-WALL100", ".drawn svg"),
            ):
                first = open_seconds(page, address + place, ready)
                again = [open_seconds(page, address + place, ready) for _ in range(5)]
                row(f"{name}, first time", first * 1000, "bar 1,000 ms")
                row(f"{name}, again (median of 5)", statistics.median(again) * 1000, "bar 1,000 ms")
            page.goto(f"{address}bench/brush")
            page.wait_for_function("window.did_handshake === true")
            answers = [page.evaluate(ANSWER, f"{71 + turn % 7} mm") for turn in range(30)]
            row("input to answer on the bench (median)", statistics.median(answers), "bar 100 ms")
            row("input to answer on the bench (slowest)", max(answers), "bar 100 ms")
            page.route("**/desk/board", many)
            page.goto(f"{address}board")
            page.wait_for_selector('[data-ready="yes"]')
            count = page.evaluate('getElement(document.querySelector(".board").id.slice(1)).s.data.operations.length')
            for name, minutes in (("whole plan", 0), ("week", 10080), ("day", 1440)):
                row(f"frame of the board, {count:,} operations, {name}", page.evaluate(FRAMES, minutes), "")
            browser.close()
    finally:
        server.terminate()
        server.wait()


if __name__ == "__main__":
    main()
