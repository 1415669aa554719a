"""Serves the Quillbeck demo, planned quickly, on the port given: the pages the browser tests look at."""

import sys

import uvicorn

from naptuft import services
from naptuft.web.app import create_app
from naptuft.web.desk import Desk

if __name__ == "__main__":
    desk = Desk(effort=1)
    book = services.demo_book()
    desk.lay(book, "Quillbeck demo")
    desk.keep(services.plan_book(book, effort=1), 1.0)
    uvicorn.run(create_app(desk), host="127.0.0.1", port=int(sys.argv[1]), log_level="warning")
