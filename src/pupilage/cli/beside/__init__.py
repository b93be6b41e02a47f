"""Programs that run in the environment of the checks (.venv-checks), beside Pupilage and not in it."""
