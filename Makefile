# Every target calls tasks.py; without make: python3 tasks.py demo
PYTHON ?= python3
.PHONY: demo test lint bench reference docs lock clean
demo test lint bench reference docs lock clean:
	@$(PYTHON) tasks.py $@
