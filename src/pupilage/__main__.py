"""`python -m pupilage`."""

from pupilage.cli.main import main

if __name__ == "__main__":
    main()
