PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
# Bytecode is kept even on a machine that forbids it: every worker would compile program and tests anew.
PYTEST := PYTHONDONTWRITEBYTECODE= OMP_NUM_THREADS=1 $(BIN)/python -m pytest
# One more than the processors: whoever waits for a browser, a terminal or a killed program leaves one idle.
WORKERS ?= $(shell n=$$(nproc 2>/dev/null || echo 2); echo $$((n + 1)))

.PHONY: demo test whole quick bench truth clean

$(VENV)/installed: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/pip install --quiet --upgrade pip
	$(BIN)/pip install --quiet --editable .
	touch $@

$(VENV)/installed-test: $(VENV)/installed
	$(BIN)/pip install --quiet --editable ".[test]"
	touch $@

demo: $(VENV)/installed  ## The main job on a worked case
	$(BIN)/howdeep demo

test: $(VENV)/installed-test  ## All tests, of long sweeps a sample
	$(PYTEST) -n $(WORKERS) --dist loadscope --no-loadscope-reorder

whole: $(VENV)/installed-test  ## The same, long sweeps taken whole and not by sample
	HOWDEEP_WHOLE=1 $(PYTEST) -n $(WORKERS) --dist loadscope --no-loadscope-reorder

quick: $(VENV)/installed-test  ## The tests that take little, in a minute or two
	$(PYTEST) -m "not slow" -n $(WORKERS) --dist loadscope --no-loadscope-reorder

bench: $(VENV)/installed-test  ## Speed, both sides in one run
	$(BIN)/python bench/bench.py

truth: $(VENV)/installed-test  ## How far the rule base has been proved
	$(BIN)/python bench/truth.py

clean:
	rm -rf $(VENV) build dist src/*.egg-info
