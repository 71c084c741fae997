# make demo   the service with an invented clinic, on PORT (default 8000) and HOST; ARGS="--today 2026-03-01" and the like are passed on
# make test   every check; PYTEST_ARGS="-m long" and the like replace pytest's arguments
# make lock   for the maintainer: rewrites the hash-locked files with uv; LOCK_ARGS=--upgrade takes newer releases

# The first Python that really starts and is new enough: a version manager's shim may stand on the PATH with nothing behind it.
PYTHON ?= $(shell for p in python3.11 python3 /usr/bin/python3.11 /usr/bin/python3; do \
	$$p -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $$p && break; done)
PYTEST_ARGS ?= -n auto
UV ?= uv
RUN := .venv/bin/python
PIP_INSTALL = -m pip install --quiet --disable-pip-version-check --require-hashes --only-binary :all:

# Without byte-code every start would compile all of it again.
unexport PYTHONDONTWRITEBYTECODE

.PHONY: demo test lock

demo: .venv/.run
	$(RUN) -m service demo $(ARGS)

# import-linter's contracts run inside pytest (tests/test_architecture.py).
test: .venv/.dev .venv-clients/.run .venv-clients/.npm
	tests/system-deps.sh
	$(RUN) -m ruff check
	$(RUN) -m mypy
	$(RUN) -m pytest $(PYTEST_ARGS)

lock:
	for lock in service tests tests/clients; do \
		(cd $$lock && $(UV) pip compile --quiet --no-header --universal --python-version 3.11 --generate-hashes $(LOCK_ARGS) -o requirements.txt requirements.in) || exit 1; \
	done

# A stamp a lock: nothing to do while the lock is older, an upgrade when it changes.
.venv/.run: service/requirements.txt .venv/bin/python
.venv/.dev: tests/requirements.txt .venv/bin/python
.venv-clients/.run: tests/clients/requirements.txt .venv-clients/bin/python
.venv/.run .venv/.dev .venv-clients/.run:
	@echo "Installing $< ..."
	@$(@D)/bin/python $(PIP_INSTALL) -r $<
	@touch $@

# npm itself comes out of the lock above; package-lock.json pins what it fetches by hash. It brings its own list of authorities and would
# wait for minutes behind a proxy whose certificate only the system knows.
.venv-clients/.npm: tests/clients/package-lock.json .venv-clients/.run
	@echo "Installing $< ..."
	@cp tests/clients/package.json $< $(@D)
	@cd $(@D) && NODE_EXTRA_CA_CERTS=$${NODE_EXTRA_CA_CERTS:-/etc/ssl/certs/ca-certificates.crt} bin/npm ci --ignore-scripts --no-audit --no-fund --loglevel=error
	@touch $@

.venv/bin/python .venv-clients/bin/python:
	@test -n "$(PYTHON)" || { echo "Python 3.11 or newer is needed." >&2; exit 1; }
	@$(PYTHON) -c "import ensurepip" 2>/dev/null || { \
		if [ "$$(id -u)" = 0 ]; then echo "Installing python3-venv ..." && apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends python3-venv >/dev/null; \
		else echo "This Python cannot make an environment. Debian has what it needs: sudo apt-get install python3-venv" >&2; exit 1; fi; }
	@$(PYTHON) -m venv --clear $(@D:/bin=) || { rm -rf $(@D:/bin=); exit 1; }
