"""What was done where no single formula of the catalogue says it, and where that comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class Method:
    """A method in words and its source."""

    text: str
    source: str


METHODS: Mapping[str, Method] = MappingProxyType(
    {
        "plain": Method(
            "the value alone, its doubt left out, lies within the limits", "definition"
        ),
        "conformity": Method(
            "probability inside = Phi((high - value) / u) - Phi((low - value) / u); inside or "
            "outside at the wanted level, else too close to call",
            "JCGM 106:2012, conformance probability, no prior knowledge",
        ),
        "aim_conformity": Method(
            "probability that both axes are inside: the normal distribution of the mean of all "
            "sets, its correlation kept, over the box of the two tolerances; each look's level "
            "follows from spending the stated risk over the largest number of looks; sets that "
            "scatter more than entered are widened by the Birge ratio; and inside at the stated "
            "level with any one doubt that no reading checks three times as large",
            "JCGM 106:2012 for one value, its box of two our own extension; Lan and DeMets, "
            "Biometrika 70 (1983), Pocock type; Birge, Phys. Rev. 40 (1932)",
        ),
        "several": Method(
            "probability that all are inside, at least: one less the sum of what each misses; the "
            "mean of all sets of each result; each look's level follows from spending the stated "
            "risk over the largest number of looks; sets that scatter more than entered are "
            "widened by the Birge ratio; and each by itself inside at its own level with any one "
            "doubt that no reading checks three times as large",
            "JCGM 106:2012 for each; Boole's inequality; Lan and DeMets, Biometrika 70 (1983), "
            "Pocock type; Birge, Phys. Rev. 40 (1932); Berger, Technometrics 24 (1982)",
        ),
        "consistent": Method(
            "a check refuses only what lies beyond its limits with the wanted certainty, its own "
            "doubt counted",
            "JCGM 106:2012, conformance probability",
        ),
        "sets_agree": Method(
            "chi-square of readings that should be alike, in their entered doubt; more than chance "
            "lets expect widens what scatters by sqrt(chi-square / degrees of freedom), and less "
            "likely than one in a thousand is refused",
            "Birge, Phys. Rev. 40 (1932)",
        ),
        "few_repeats": Method(
            "effective degrees of freedom u^4 / sum(part^4 / degrees of freedom); the doubt is "
            "widened by Student's over the normal quantile at the wanted level",
            "JCGM 100:2008, annex G (Welch and Satterthwaite)",
        ),
        "best_possible": Method(
            "even a value in the middle of the limits has 2 Phi(half width / u) - 1, which is "
            "less than the wanted level",
            "JCGM 106:2012, conformance probability",
        ),
        "stand_moves": Method(
            "the turn first; it carries the centre about the foot by foot - R(turn) foot, and the "
            "moves after it reckon with that; one move for each quantity that is not inside",
            "plane geometry",
        ),
        "shims": Method(
            "twist = (rear left - rear right - front left + front right) / 4 of the heights; the "
            "two low ends of the low diagonal are raised alike, by twice the twist",
            "geometry",
        ),
        "suspects": Method(
            "each cause alone explains the disagreement with the normal density of its likely "
            "error and of the slips that it is prone to, beside the doubt of all others; results "
            "that are judged together by their common normal density; alike beforehand",
            "Bayes' rule",
        ),
        "miss_at_range": Method("miss = range tan(angle)", "geometry"),
        "screw_plan": Method(
            "of all pairs of whole smallest turns around the solution of the two by two system, "
            "the one that most likely leaves both axes inside; travel and backlash kept",
            "s = y tan(yaw) + z tan(elevation) = pitch turns, at each screw",
        ),
        "move_stories": Method(
            "each story of what was turned foretells a change of the aim with its doubt; weighed "
            "by how well it foretold what was measured",
            "Bayes' rule",
        ),
    }
)
