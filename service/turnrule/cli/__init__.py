"""The command line: click commands over the actions."""

from turnrule.cli.commands import main

__all__ = ["main"]
