"""`python -m howdeep`, for a machine on which the command is not on the path."""

from .cli.main import main

main()
