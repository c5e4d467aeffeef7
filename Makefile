# make run    sets everything up and opens the dashboard on the demo plant
# make test   sets everything up and runs all checks
# make help   lists the rest

.POSIX:
.SUFFIXES:
SHELL = /bin/sh
HOST = 127.0.0.1
PORT = 8050
WORKERS = 2
VENV = .venv
BIN = $(VENV)/bin
PIP = $(BIN)/python -m pip --disable-pip-version-check
INSTALL = $(PIP) install --quiet --constraint constraints.txt
RULES = $(VENV)/rules-compiled

.PHONY: help run test check format compile bench wheel constraints clean

help:
	@echo "make run          set up, then serve the dashboard at http://$(HOST):$(PORT)"
	@echo "make test         set up, then all checks: style, types, tests (needs Chromium, gets it where it can)"
	@echo "make check        the same checks, without setting anything up"
	@echo "make format       write the code in the project's style"
	@echo "make compile      compile the rules anew"
	@echo "make bench        measure how fast the twin is here"
	@echo "make wheel        build the wheel for this platform into dist/"
	@echo "make constraints  write constraints.txt anew from today's packages"
	@echo "make clean        remove everything that make has made"

run: $(VENV)/ready $(RULES)
	@exec $(BIN)/passline serve scenarios/ --host $(HOST) --port $(PORT)

test: $(VENV)/test-ready $(RULES) check

check:
	@echo "passline: style (ruff)"
	@$(BIN)/ruff check --quiet . && $(BIN)/ruff format --check --quiet .
	@echo "passline: types (mypy)"
	@$(BIN)/mypy
	@echo "passline: tests (pytest, $(WORKERS) at a time)"
	@$(BIN)/python -m pytest -q -n $(WORKERS)
	@echo "passline: all checks passed."

format: $(VENV)/test-ready
	@$(BIN)/ruff check --fix --quiet . ; $(BIN)/ruff format .

compile: $(VENV)/ready
	@rm -f $(RULES)
	@$(MAKE) --no-print-directory $(RULES)

bench: $(VENV)/ready $(RULES)
	@$(BIN)/passline bench

wheel: $(VENV)/ready $(RULES)
	@rm -rf build
	@$(PIP) wheel --quiet --no-deps --no-build-isolation --wheel-dir dist .
	@ls -l dist

constraints:
	@.ci/setup constraints

clean:
	rm -rf $(VENV) build dist *.egg-info twin/line/_fast .pytest_cache .mypy_cache .ruff_cache .hypothesis

# The environment: made once, brought up to date when the lists of packages change.
$(VENV)/ready: pyproject.toml constraints.txt
	@.ci/setup environment $(VENV)
	@echo "passline: installing the packages that it runs on (some minutes the first time)"
	@$(INSTALL) setuptools wheel
	@$(INSTALL) --no-build-isolation --editable '.[compile]'
	@touch $@

$(VENV)/test-ready: $(VENV)/ready
	@echo "passline: installing the packages that test it"
	@$(INSTALL) --no-build-isolation --editable '.[test]'
	@.ci/setup browser
	@touch $@

# The compiled rules: a help, never a need. Exit 3 says that this machine has no C compiler.
$(RULES): $(VENV)/ready twin/line/compile_rules.py twin/line/rules/*.py
	@.ci/setup compiler $(VENV)
	@$(BIN)/python -m twin.line.compile_rules || test $$? -eq 3
	@touch $@
