# The work is in the scripts and in the package; these are short names for it.
.PHONY: demo load serve test

demo:
	@python3 scripts/set_up
	@.venv/bin/pupilage demo

serve:
	@python3 scripts/set_up
	@.venv/bin/pupilage serve

test:
	@python3 scripts/set_up --dev
	@scripts/run_tests $(ARGS)

load:
	@python3 scripts/set_up --dev
	@.venv/bin/python scripts/run_load $(ARGS)
