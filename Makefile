# Every target does its own set-up on a machine that has only git, make and python3.

PYTHON ?= python3
BIN := .venv/bin
SETUP := $(PYTHON) tools/setup_environment.py
RUN_READY := .venv/.ready-run
DEV_READY := .venv/.ready-dev

export PYTHONUTF8 := 1

.PHONY: help setup check services test demo bench lock clean
.DELETE_ON_ERROR:

help:
	@echo "make demo    plan, draw and print the six cars of the demonstration, cut and paint a batch, into demo-out/"
	@echo "make test    check, then run every test"
	@echo "make check   formatter, linter, strict types"
	@echo "make bench   measure the speeds that the project promises"
	@echo "make setup   make the Python environment in .venv (the others do it by themselves)"
	@echo "make lock    choose versions again, within pyproject.toml (needs uv)"

setup: $(DEV_READY)

$(RUN_READY): pyproject.toml requirements.lock tools/setup_environment.py
	$(SETUP) requirements.lock
	@touch $@

$(DEV_READY): pyproject.toml requirements.lock requirements-dev.lock tools/setup_environment.py
	$(SETUP) requirements-dev.lock
	@touch $(RUN_READY) $@

check: $(DEV_READY)
	$(BIN)/ruff format --check
	$(BIN)/ruff check
	$(BIN)/mypy

# Debian's PostgreSQL and Chromium, where they may be installed; the tests that go without them fail the run.
services:
	@$(PYTHON) tools/install_services.py

test: check services
	$(BIN)/python -m pytest --numprocesses auto --dist loadfile

# Status 1 says that a check on one of the cars fails: that is the demonstration's point, not a fault.
demo: $(RUN_READY)
	$(BIN)/carwright demo --out demo-out || test $$? -eq 1

bench: $(DEV_READY)
	$(BIN)/python -m benchmarks

UV_COMPILE = uv pip compile --quiet --universal --fork-strategy fewest --generate-hashes \
	--custom-compile-command "make lock" --group build pyproject.toml

lock:
	$(UV_COMPILE) --output-file requirements.lock
	$(UV_COMPILE) --constraint requirements.lock --group dev --output-file requirements-dev.lock

clean:
	rm -rf .venv build demo-out .mypy_cache .pytest_cache .ruff_cache .hypothesis
