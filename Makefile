# Each target sets up what it needs first; a set-up that is done ends at once.
PYTHON ?= python3
ifeq ($(OS),Windows_NT)
VENV := .venv/Scripts
else
VENV := .venv/bin
endif
DEMO ?= build/demo

.DEFAULT_GOAL := help
.PHONY: help setup demo check test test-all format lock bench clean

help: ## list these targets
	@awk -F ':.*## ' '/^[a-z-]+:.*## / {printf "make %-10s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

setup: ## set up .venv and the system's packages for everything below
	@$(PYTHON) scripts/setup.py --tests
	@$(PYTHON) scripts/system_packages.py

demo: ## write the demo jobs to build/demo, check them, print the result
	@$(PYTHON) scripts/setup.py
	@$(VENV)/latchwork demo $(DEMO)

check: ## lint, format, types, import direction, words, paths
	@$(PYTHON) scripts/setup.py --tests
	@$(VENV)/python scripts/checks.py

test: setup ## the checks, then the tests
	@$(VENV)/python scripts/checks.py
	@$(VENV)/python -m pytest -n 2 --dist worksteal

test-all: setup ## the checks, then all tests, slow ones too
	@$(VENV)/python scripts/checks.py
	@$(VENV)/python -m pytest -n 2 --dist worksteal --slow-oracles

format: ## put the source into the common format
	@$(PYTHON) scripts/setup.py --tests
	@$(VENV)/python -m ruff check --quiet --fix-only .
	@$(VENV)/python -m ruff format .

lock: ## write the lock files again (UPGRADE=1: with the newest versions)
	@$(PYTHON) scripts/lock.py $(if $(UPGRADE),--upgrade)

bench: ## run a benchmark: make bench BENCH=name
	@$(PYTHON) scripts/setup.py --tests
	@$(VENV)/python scripts/bench.py $(BENCH)

clean: ## remove .venv, build and the tools' caches
	rm -rf .venv build .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis
