"""`python -m turnrule` is the command line."""

from turnrule.cli import main

main()
