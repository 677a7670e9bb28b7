# One command starts everything: `make run`, `make test`. Each sets up what it needs, once.
# PY=3.13 chooses another Python; the default is python3. Only Python 3.11 or later, git and make have to be there.

PYTHON = $(if $(PY),python$(PY),python3)
READY = $(PYTHON) tools/bootstrap.py

.DEFAULT_GOAL = help
.PHONY: help run test quick lint bench campaigns mutate fuzz golden lock lock-check audit third-party clean

help:
	@echo "make run         the demo practice: one plan in the terminal, the workbench on this machine"
	@echo "make test        all checks (the same as .ci/run, which also insists on a browser)"
	@echo "make quick       form, types and the tests of what changed, within a minute"
	@echo "make lint        form, types and direction of imports only"
	@echo "make bench       times against peers        make campaigns   full-size studies of calibration"
	@echo "make mutate      planted faults, each to be caught           make fuzz        hostile and random inputs"
	@echo "make golden      every answer to the frozen cases as it was  (ARGS=renew keeps new ones)"
	@echo "make lock        renew the lock files       make lock-check  are they current?"
	@echo "make audit       known faults of what we depend on           make third-party the list of licences"
	@echo "make clean       remove everything that was built or installed here"

run:
	@$(READY) run collum demo --data .demo --serve $(ARGS)

test:
	@$(READY) test python -m tools.checks all

quick:
	@$(READY) test python -m tools.quick

lint:
	@$(READY) test python -m tools.checks lint

bench:
	@$(READY) bench python -m benchmarks $(ARGS)

campaigns:
	@$(READY) test python -m pytest -m campaign -p no:cacheprovider --timeout=7200 $(ARGS)

mutate:
	@$(READY) test python -m tools.mutate $(ARGS)

fuzz:
	@HYPOTHESIS_PROFILE=fuzz $(READY) test python -m pytest -n 2 -m "not campaign and not browser" --timeout=1800 $(ARGS)
	@$(READY) test python -m tests.fuzz

golden:
	@$(READY) test python -m tests.golden $(ARGS)

lock:
	@$(READY) upkeep python -m tools.locks write

lock-check:
	@$(READY) upkeep python -m tools.locks check

audit:
	@$(READY) upkeep python -m tools.audit

third-party:
	@$(READY) test python -m tools.third_party write

clean:
	@$(PYTHON) tools/clean.py
