# `make demo` and `make test` do all the set-up on a new machine with Python 3.11 or newer. README.md says more.
.DEFAULT_GOAL := help
.PHONY: help demo venv test check corpus speed soak clean
export PYTHON

help:
	@echo "make demo    digitise a simulated roll, with the page on this machine (options: make demo ARGS='--once')"
	@echo "make test    all checks and tests (some of them: make test ARGS='tests/unit')"
	@echo "make check   style, types and import rules only"
	@echo "make speed   measure, into build/speed.json (one of them: make speed ONLY=judge)"
	@echo "make corpus  judge a thousand simulated frames against what they truly are, into build/corpus.json"
	@echo "make soak    a thousand frames with all that goes wrong (fewer: make soak FRAMES=200)"
	@echo "make venv    build .venv alone"
	@echo "make clean   remove what was built, .venv included"

venv:
	@sh .ci/venv runtime

demo: venv
	@.venv/bin/rigd demo $(ARGS)

test:
	@sh .ci/packages
	@sh .ci/venv dev
	@sh .ci/check; checked=$$?; \
	.venv/bin/python -m pytest $(ARGS); tested=$$?; \
	if [ $$checked -ne 0 ]; then echo "make check failed: see above the tests"; exit 1; fi; \
	exit $$tested

check:
	@sh .ci/venv dev
	@sh .ci/check

speed:
	@sh .ci/venv dev
	@mkdir -p build
	@.venv/bin/python tests/speed --out build/speed.json $(if $(ONLY),--only $(ONLY))

corpus:
	@sh .ci/venv dev
	@.venv/bin/python tests/corpus --out build/corpus.json $(if $(ONLY),--only $(ONLY))

# Simulated rig in real time: about three seconds a frame.
soak:
	@sh .ci/venv dev
	@RIGD_SOAK_FRAMES=$(or $(FRAMES),1000) RIGD_SOAK_SEED=$(or $(SEED),1) .venv/bin/python -m pytest -q -s tests/flow/test_soak.py

clean:
	rm -rf .venv build dist .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis
