"""The reference pack: catalogues, policies and the invented demo, read strictly and checked."""

from turnrule.pack.cases import WorkedCase
from turnrule.pack.checking import PackFault, check_pack
from turnrule.pack.loading import load_pack
from turnrule.pack.model import Demo, Inspection, Pack
from turnrule.pack.policies import PolicyError, policy_from_document, varied
from turnrule.pack.reader import PackError
from turnrule.pack.tightening import Difference, Direction, differences, loosenings

__all__ = [
    "Demo",
    "Difference",
    "Direction",
    "Inspection",
    "Pack",
    "PackError",
    "PackFault",
    "PolicyError",
    "WorkedCase",
    "check_pack",
    "differences",
    "load_pack",
    "loosenings",
    "policy_from_document",
    "varied",
]
