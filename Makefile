# Set-up and checks. Needs Python 3.11 or later (with venv and pip) and make; nothing else.
#
#   make demo    install tapemark here and run its example
#   make test    install what the checks need as well, and run them all
#   make bench   measure speed and write docs/performance.md
#
# Both work in .venv and leave the rest of the machine alone. A second run skips the set-up.

VENV := .venv
RUN := $(VENV)/bin/python

# Another active environment, or settings of the user's own pip, must not leak in.
unexport PYTHONHOME PYTHONPATH VIRTUAL_ENV PIP_TARGET PIP_PREFIX
export PIP_USER := 0
export PIP_DISABLE_PIP_VERSION_CHECK := 1

# First Python on the path that is new enough and can make an environment.
PYTHON = $(shell for name in python3 python python3.14 python3.13 python3.12 python3.11; do \
	$$name -c 'import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))' \
	2>/dev/null && echo $$name && break; done)

# The stamps carry the folder's name: a folder that was moved or copied is set up again.
HERE := $(shell pwd | cksum | cut -d ' ' -f 1)
READY_TO_RUN := $(VENV)/ready-to-run-$(HERE)
READY_TO_TEST := $(VENV)/ready-to-test-$(HERE)

# A half-made environment or stamp must not pass for a whole one.
.DELETE_ON_ERROR:

.PHONY: help demo test check bench lock pictures frames clean

help:
	@sed -n 's/^#   //p' Makefile

demo: $(READY_TO_RUN)
	@$(RUN) -m tapemark demo

test check: $(READY_TO_TEST)
	@PYTHON=$(RUN) scripts/check

bench: $(READY_TO_TEST)
	@$(RUN) -m benchmarks

$(RUN):
	@python="$(PYTHON)"; test -n "$$python" || { \
	echo "tapemark needs Python 3.11 or later with its venv module, and found none."; \
	echo "Install it (Debian and Ubuntu: the packages python3 and python3-venv)"; \
	echo "or say where it is: make $(firstword $(MAKECMDGOALS)) PYTHON=/path/to/python3"; \
	exit 1; } >&2; \
	echo "Making the environment $(VENV) with $$python" >&2; $$python -m venv $(VENV)

# $(call install,LOCK): the locked packages, then tapemark itself, editable.
define install
	@echo "Installing what $(1) lists; the first time this takes a minute" >&2
	@$(RUN) -m pip install --quiet --require-hashes --requirement $(1)
	@$(RUN) -m pip install --quiet --no-deps --no-build-isolation --editable .
endef

$(READY_TO_RUN): requirements-run.lock pyproject.toml | $(RUN)
	$(call install,requirements-run.lock)
	@touch $@

# requirements.lock holds all of requirements-run.lock, so it makes `make demo` ready too.
$(READY_TO_TEST): requirements.lock pyproject.toml | $(RUN)
	$(call install,requirements.lock)
	@scripts/browser
	@touch $(READY_TO_RUN) $@

# Choose the newest allowed versions again; needs uv, and is never part of a set-up.
lock:
	@scripts/lock

# Draw the pictures in docs/ again after a change to what they show.
pictures: $(READY_TO_TEST)
	@$(RUN) scripts/draw_examples.py docs/pictures

# Draw docs/frames.svg again after a change to its script.
frames:
	@$(or $(wildcard $(RUN)),python3) scripts/draw_frames.py docs/frames.svg

clean:
	rm -rf $(VENV) dist tapemark-demo .hypothesis .mypy_cache .ruff_cache .pytest_cache \
	.import_linter_cache
