# Two commands do everything on a fresh machine with Python 3.11 or newer and make:
#   make demo    the main job on the demo case: results on the screen and a report file
#   make test    all tests
# Both make .venv and install into it first; nothing outside this folder is touched.

SHELL := /bin/sh
# The first of these that is Python 3.11 or newer; or say `make PYTHON=/path/to/python test`.
PYTHON ?= $(shell for p in python3 python3.11 python3.12 python3.13 python; do \
	"$$p" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1 && echo "$$p" && break; done)
BIN := .venv/bin
PIP := $(BIN)/python -m pip install --quiet --constraint .ci/constraints.txt
PYTEST_OPTIONS ?= -n auto --maxprocesses 4
# `make test WHOLE=--whole` tries every command for determinism, which takes some minutes.
WHOLE ?=
# Modules are compiled once, not by each process of the tests anew; `make clean` removes what is compiled.
unexport PYTHONDONTWRITEBYTECODE

.PHONY: setup demo test bench lint types screens fuzz kills coverage mutants clean

setup: .venv/.test

.venv/bin/python:
	@test -n "$(PYTHON)" || { echo "Python 3.11 or newer was not found; name it: make PYTHON=/path/to/python $(MAKECMDGOALS)" >&2; exit 2; }
	$(PYTHON) -m venv .venv

.venv/.test: pyproject.toml .ci/constraints.txt | .venv/bin/python
	$(PIP) --editable '.[test]'
	@touch $@

.venv/.dev: .venv/.test
	$(PIP) --editable '.[dev]'
	@touch $@

.venv/.bench: .venv/.test
	$(PIP) --editable '.[bench]'
	@touch $@

demo: .venv/.test
	$(BIN)/coiltoll demo -o demo-report.pdf

test: .venv/.test
	$(BIN)/python -m pytest $(PYTEST_OPTIONS) $(WHOLE)

bench: .venv/.bench
	$(BIN)/python -m tests.bench

lint: .venv/.dev
	$(BIN)/python -m ruff check .
	$(BIN)/python -m ruff format --check .

types: .venv/.dev
	$(BIN)/python -m mypy

screens: .venv/.test
	$(BIN)/python -m tests.browser.screens

fuzz: .venv/.test
	$(BIN)/python -m tests.fuzz $(SECONDS)

kills: .venv/.test
	$(BIN)/python -m tests.fuzz.kills $(KILLS)

coverage: .venv/.dev
	$(BIN)/python -m pytest $(PYTEST_OPTIONS) --cov --cov-branch --cov-report=term-missing:skip-covered tests/model tests/calibration

mutants: .venv/.dev
	$(BIN)/python -m tests.mutants $(MUTANTS)

clean:
	rm -rf .venv build dist *.egg-info .pytest_cache .mypy_cache .ruff_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
