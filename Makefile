# Two commands do everything on a fresh machine: `make demo` and `make test`.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
WORKERS ?= auto

.PHONY: demo test quick lint docs lock clean

# The demo is not copied over a folder that is there: the second time it is only checked again.
demo: $(VENV)/.installed
	@if [ -e demo/build.toml ]; then $(BIN)/spoolwright check demo; else $(BIN)/spoolwright demo demo; fi

test: $(VENV)/.tested-with
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/python -m pytest -n $(WORKERS)

quick: $(VENV)/.tested-with
	$(BIN)/python -m pytest -n $(WORKERS) -m "not slow"

lint: $(VENV)/.tested-with
	$(BIN)/ruff check . && $(BIN)/ruff format --check . && $(BIN)/mypy && $(BIN)/lint-imports

# The generated reference pages; a test compares them with the registries.
docs: $(VENV)/.installed
	$(BIN)/python -m spoolwright.reference docs/reference

$(VENV)/.installed: requirements.lock pyproject.toml
	$(PYTHON) -c "import sys; sys.exit(sys.version_info < (3, 11) and 'Spoolwright needs Python 3.11 or newer')"
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --no-deps -e .
	touch $@

$(VENV)/.tested-with: requirements-test.lock $(VENV)/.installed
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements-test.lock
	touch $@

# For maintainers: pin again after a change of the ranges in pyproject.toml (needs uv).
lock:
	uv pip compile -q pyproject.toml --universal --generate-hashes --no-emit-index-url --python-version 3.11 \
	  --custom-compile-command "make lock" -o requirements.lock
	uv pip compile -q pyproject.toml --all-extras --universal --generate-hashes --no-emit-index-url --python-version 3.11 \
	  --custom-compile-command "make lock" -c requirements.lock -o requirements-test.lock

clean:
	rm -rf $(VENV) demo
