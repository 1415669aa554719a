# Every target makes its own .venv first; nothing else is needed but Python 3.11.
PYTHON ?= $(shell command -v python3.11 || command -v python3)
BIN := .venv/bin
# where the instances of the cutting and scheduling benchmarks lie
INSTANCES ?= ../shared/benchmarks
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check

.PHONY: demo test check serve bench

demo: .venv/ready
	$(BIN)/naptuft demo

serve: .venv/ready
	$(BIN)/naptuft serve --browser

test: .venv/ready
	sh tests/run.sh

check: .venv/ready
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/pyright
	$(BIN)/lint-imports
	$(BIN)/codespell src tests docs benchmarks README.md CONTRIBUTING.md CHANGELOG.md

bench: .venv/ready
	for table in main_job pages brush_head bristle_blend transient_heat; do $(BIN)/python benchmarks/$$table.py || exit 1; done
	$(BIN)/python benchmarks/cutting_stock.py $(INSTANCES)/cutting_stock/*.jsonl
	$(BIN)/python benchmarks/scheduling.py $(INSTANCES)/scheduling
	$(BIN)/python benchmarks/growth.py $(INSTANCES)/scheduling/plant_60_1.json $(INSTANCES)/scheduling/plant_300_1.json $(INSTANCES)/scheduling/plant_1000_1.json
	$(BIN)/python benchmarks/risk.py $(INSTANCES)/scheduling/plant_300_1.json

.venv/ready: constraints.txt pyproject.toml
	$(PYTHON) -m venv .venv
	sed -n '/^uv==/,/[^\\]$$/p' constraints.txt > .venv/uv.txt
	$(PIP) --no-deps --require-hashes -r .venv/uv.txt
	$(BIN)/uv pip install --quiet --python $(BIN)/python --require-hashes -r constraints.txt || $(PIP) --require-hashes -r constraints.txt
	$(PIP) --no-deps --no-build-isolation -e .
	$(BIN)/naptuft warm
	touch $@
