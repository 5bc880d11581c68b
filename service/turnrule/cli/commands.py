"""The `turnrule` command and its groups."""

from __future__ import annotations

import click

import turnrule
from turnrule.cli.axle import axle
from turnrule.cli.certificates import certificate
from turnrule.cli.contract import openapi
from turnrule.cli.demo import demo
from turnrule.cli.judging import judge
from turnrule.cli.keys import keys
from turnrule.cli.lathes import lathe
from turnrule.cli.limits import limits
from turnrule.cli.packing import pack
from turnrule.cli.policies import policy
from turnrule.cli.quote import quote_check
from turnrule.cli.releases import release
from turnrule.cli.reports import report
from turnrule.cli.serving import serve
from turnrule.cli.setup import setup_check
from turnrule.cli.sites import site
from turnrule.cli.storing import store

_HELP = """Limits for worn brake rotors and drums, and verdicts on measurements.

Settings come from TURNRULE_* and from the file that TURNRULE_SETTINGS names. Exit codes: 0 done, 2 usage,
3 refused input, 4 replace, 5 inconclusive, 6 store, 1 the rest. A verdict never replaces the maker's service
data, the law of the place, or a licensed technician.
"""


@click.group(help=_HELP, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(turnrule.__version__, prog_name="turnrule")
def main() -> None:
    """The command and its groups."""


for command in (
    demo,
    serve,
    judge,
    axle,
    certificate,
    setup_check,
    quote_check,
    limits,
    release,
    report,
    policy,
    site,
    lathe,
    keys,
    pack,
    store,
    openapi,
):
    main.add_command(command)
