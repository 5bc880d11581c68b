"""The body by which a site is given a policy."""

from __future__ import annotations

from turnrule.api.fields import Text
from turnrule.api.request_shapes import CODE
from turnrule.api.shapes import Shape


class SiteShape(Shape):
    """Which policy a site has from now on."""

    policy = Text(
        63,
        pattern=CODE,
        required=True,
        metadata={"description": "The policy; default where the site is to have none of its own."},
    )


SITE = SiteShape()
