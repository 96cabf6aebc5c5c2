# `make demo` and `make test` do all the set-up on a new machine with Python 3.11 or newer. README.md says more.
.DEFAULT_GOAL := help
.PHONY: help demo venv test check corpus speed clean
export PYTHON

help:
	@echo "make demo    digitise a simulated roll, with the page on this machine (options: make demo ARGS='--once')"
	@echo "make test    all checks and tests (some of them: make test ARGS='tests/unit')"
	@echo "make check   style, types and import rules only"
	@echo "make speed   measure, into build/speed.json (one of them: make speed ONLY=judge)"
	@echo "make corpus  judge a thousand simulated frames against what they truly are, into build/corpus.json"
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

clean:
	rm -rf .venv build dist .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis
