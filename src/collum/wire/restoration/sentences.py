"""Sentences beside the figures: posts, the gain of a ferrule, the laboratory, support and the old crown. Keys, no words."""

from collum.core.crown.laboratory import MaterialFit
from collum.core.crown.old_crown import Ground as Cause
from collum.core.post.post import Opener, PostWindow
from collum.core.post.post_diameter import PostDiameter
from collum.core.preparation.gains import ChangeKey
from collum.evidence import value
from collum.plan.printed import rounded
from collum.plan.restoration.ferrule import Ferrule, Trade
from collum.plan.restoration.loss import Loss
from collum.plan.restoration.posts import Post
from collum.plan.restoration.support import Support
from collum.plan.restoration.tooth_restoration import RouteRestoration
from collum.plan.sentence import Sentence, say
from collum.wire.restoration.answer import percent


def post_said(post: Post) -> list[Sentence]:
    """Return what is said of one root."""
    window = post.window
    if window.status == "no post":
        return [say(f"restoration.post.{window.reason}")]
    said = [_window_said(window)]
    if window.status == "empty" and not window.openers:
        said.append(say("restoration.post.nothing_opens"))
    if window.root_from_handbook and window.root_mm is not None:
        said.append(say("restoration.post.root_from_handbook", root_mm=window.root_mm))
    if post.diameter is not None:
        said.append(_diameter_said(post.diameter))
    if post.probability is not None:
        said.append(say("restoration.post.chance", probability=rounded(post.probability)))
    return [*said, say("restoration.post.no_ferrule")]


def clash_said(window: PostWindow) -> Sentence:
    """Return which two rules leave no length. Raises AssertionError where none clash."""
    assert window.clash is not None
    clash = window.clash
    return say(f"restoration.clash.{clash.least}.{clash.most}", gap_mm=clash.gap_mm)


def opener_said(opener: Opener) -> Sentence:
    """Return what opens an empty window."""
    lengths = {"low_mm": opener.low_mm, "high_mm": opener.high_mm}
    if opener.amount_mm is not None:
        lengths["amount_mm"] = opener.amount_mm
    return say(f"restoration.opens.{opener.change}", **lengths)


def change_said(change: ChangeKey) -> Sentence:
    """Return a change of the preparation with how far it goes."""
    if change == "less_convergence":
        return say("restoration.change.less_convergence", step_deg=value("preparation.step.convergence_deg"))
    if change == "more_height":
        return say("restoration.change.more_height", step_mm=value("preparation.step.height_mm"))
    return say(f"restoration.change.{change}")


def trade_said(trade: Trade) -> Sentence:
    """Return how much more ferrule one way is worth, under one kind of post."""
    if trade.optimum.gain_mm < value("plan.least_bone_mm"):
        return say(f"restoration.trade.none.{trade.way}.{trade.post}", ratio=trade.optimum.crown_to_root)
    figures = {"gain_mm": trade.optimum.gain_mm, "ratio": trade.optimum.crown_to_root}
    return say(f"restoration.trade.{trade.way}.{trade.post}", **figures)


def optimum_said(ferrule: Ferrule) -> list[Sentence]:
    """Return the limits of the best gain, or why there is none."""
    if isinstance(ferrule.trades, str):
        return [say(f"restoration.optimum.{ferrule.trades}")]
    said = [say("restoration.optimum.limits"), say("restoration.optimum.our_reading")]
    if any(trade.optimum.bounded for trade in ferrule.trades):
        said.append(say("restoration.optimum.bounded"))
    return said


def laboratory_said(found: RouteRestoration) -> list[Sentence]:
    """Return the notes for the laboratory: which classes fit, which leave too little, and where that is open."""
    clear = [fit for fit in found.materials if fit.hazard != "thin wall" and not fit.height_short_mm]
    said = [_fits_said(found.materials, clear)]
    if any(fit.hazard == "thin wall" for fit in found.materials):
        said.append(say("restoration.laboratory.thin_wall", limit_mm=value("plan.limit.wall_thickness_mm")))
    if any(fit.hazard == "not assessed" for fit in found.materials):
        pulp = found.basis.tooth.may_have_pulp
        said.append(say("restoration.laboratory.pulp_not_known" if pulp else "restoration.laboratory.canal_not_known"))
    if any(fit.height_mm is None for fit in found.materials):
        said.append(say("restoration.laboratory.edge_not_known"))
    if any(fit.from_handbook for fit in found.materials):
        said.append(say("restoration.laboratory.handbook"))
    if found.basis.tooth.vital is True:
        said.append(say("restoration.laboratory.vital"))
    return said


def support_said(support: Support) -> Sentence:
    """Return what the ratio says, beside the tooth's own norm."""
    if support.ratio is None:
        return say("restoration.support.not_assessed")
    ratio = support.ratio
    figures = {"before": rounded(ratio.before), "after": rounded(ratio.after), "norm": rounded(ratio.norm)}
    return say(f"restoration.support.{support.grade_after.replace(' ', '_')}", **figures)


def ground_said(ground: Cause) -> Sentence:
    """Return one ground for or against with its figures."""
    side = {"for": "for", "against": "against", "not assessed": "unknown"}[ground.side]
    if side == "unknown":
        return say(f"restoration.ground.{ground.cause}.unknown")
    figures = {name: number for name, number in ground.figures.items() if name != "share"}
    if "share" in ground.figures:
        figures["percent"] = percent(ground.figures["share"])
    if ground.cause == "post" and not figures:
        return say("restoration.ground.post.none")
    return say(f"restoration.ground.{ground.cause}.{side}", **figures)


def loss_said(loss: Loss) -> list[Sentence]:
    """Return what has to be said before the grounds."""
    said = [say("restoration.loss.ordered_by_us")]
    if loss.height_from_today and loss.height_mm is not None:
        said.append(say("restoration.loss.height_today", height_mm=loss.height_mm))
    return said


def _window_said(window: PostWindow) -> Sentence:
    if window.status == "empty":
        return clash_said(window)
    if window.low_mm is None or window.high_mm is None:
        return say("restoration.post.not_assessed")
    key = "open" if window.status == "open" else "open_as_far_as_known"
    return say(f"restoration.post.{key}", low_mm=window.low_mm, high_mm=window.high_mm)


def _diameter_said(diameter: PostDiameter) -> Sentence:
    if not diameter.assessed:
        return say("restoration.post.diameter_not_measured", most_mm=diameter.most_mm)
    return say(f"restoration.post.diameter_{diameter.by}", most_mm=diameter.most_mm)


def _fits_said(every: tuple[MaterialFit, ...], clear: list[MaterialFit]) -> Sentence:
    if not clear:
        return say("restoration.laboratory.none_fits")
    if len(clear) == len(every):
        return say("restoration.laboratory.all_fit")
    return say("restoration.laboratory.some_fit", count=len(clear), of=len(every))
