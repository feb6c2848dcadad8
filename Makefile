# Needs python3 (3.11 or later) with venv, and make.  PYTHON=... chooses another interpreter.
PYTHON ?= python3
DEMO_VENV := .venv
TEST_VENV := .venv-test
DEMO_OUT := fitter-demo
# Options of the benchmark, such as BENCH="--quick".
SOURCES := pyproject.toml $(shell find fitter solver shared examples/photos -type f \
	-not -path '*/__pycache__/*' | sed 's/ /\\ /g')

.PHONY: help demo test bench clean

help:
	@echo "make demo   install into $(DEMO_VENV) and fit the demo page"
	@echo "make test   install into $(TEST_VENV) and run ruff, mypy and the tests"
	@echo "make bench  measure the solver and its peers over the benchmark pages (an hour or two)"
	@echo "make clean  remove the environments and whatever was built"

demo: $(DEMO_VENV)/.installed
	$(DEMO_VENV)/bin/fitter demo --out $(DEMO_OUT) --overwrite
	@echo "The pictures are in $(CURDIR)/$(DEMO_OUT); open compare.png first."

test: $(TEST_VENV)/.installed
	$(TEST_VENV)/bin/ruff check .
	$(TEST_VENV)/bin/mypy
	$(TEST_VENV)/bin/python -m pytest -q -n auto --maxprocesses 4 --dist worksteal

bench: $(TEST_VENV)/.installed
	$(TEST_VENV)/bin/python -m tests.bench $(BENCH)
	$(TEST_VENV)/bin/python -m tests.bench.photos

clean:
	rm -rf $(DEMO_VENV) $(TEST_VENV) $(DEMO_OUT) fitter-bench build dist
	rm -rf .mypy_cache .ruff_cache .pytest_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +

# A stamp file keeps the second run fast: the package is installed anew only when a file of it changed.
$(DEMO_VENV)/.installed: $(SOURCES)
	test -x $(DEMO_VENV)/bin/python || $(PYTHON) -m venv $(DEMO_VENV)
	$(DEMO_VENV)/bin/python -m pip install --quiet --disable-pip-version-check .
	touch $@

# The tests read the checkout itself, so only the list of dependencies matters here.
$(TEST_VENV)/.installed: pyproject.toml
	test -x $(TEST_VENV)/bin/python || $(PYTHON) -m venv $(TEST_VENV)
	$(TEST_VENV)/bin/python -m pip install --quiet --disable-pip-version-check --editable '.[dev,bench]'
	touch $@
