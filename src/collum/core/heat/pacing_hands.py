"""What the hands add to a round: its order and the earliest starts are given, the strokes come as the hands get there.

The earliest starts from rests and heat stay a lower bound. A start that is later moves every start after it, so that no two
strokes come nearer to each other in time than they were judged.
"""

from collections.abc import Sequence

from collum.core.heat.pacing_task import PacingTask, Stroke


def with_hands(task: PacingTask, soonest: Sequence[Stroke]) -> tuple[Stroke, ...]:
    """Return a round in which each stroke comes when the hands are there, and moves all later ones by what it is behind.

    So a running round is led too: the strokes of hands that take what was entered start as planned here.

    Parameters
    ----------
    task : PacingTask
        The task with its hands [s].
    soonest : sequence of Stroke
        The round as rests and heat alone allow it [s].

    Returns
    -------
    tuple of Stroke
        Strokes with starts, ends and waits [s].

    Source
    ------
    Derived.

    Examples
    --------
    Two places on two sides of a tooth: a move of 1 s becomes one of 1 + 3 + 8 s, with wiping and the mirror. Hands
    do not add to a rest that is longer than they take.

    >>> from collum.core.heat.pacing_search import earliest_starts
    >>> from collum.core.heat.pacing_task import Place, hand_rules, usual_hands
    >>> facial = Place(length_mm=7, speed_mm_s=7, passes=1, pause_s=8)
    >>> oral = Place(length_mm=7, speed_mm_s=7, passes=1, pause_s=8, hand_position="oral")
    >>> task = PacingTask(places=(facial, oral), rules=hand_rules(usual_hands()))
    >>> [stroke.start_s for stroke in with_hands(task, earliest_starts(task.without_hands(), (0, 1)))]
    [0.0, 13.0]
    >>> place = Place(length_mm=7, speed_mm_s=7, passes=3, pause_s=8)
    >>> task = PacingTask(places=(place,), rules=hand_rules(usual_hands()))
    >>> [stroke.start_s for stroke in with_hands(task, earliest_starts(task.without_hands(), (0, 0, 0)))]
    [0.0, 9.0, 20.0]
    """
    moved: list[Stroke] = []
    behind_s = 0.0
    for stroke in soonest:
        free_s = moved[-1].end_s + task.between_s(moved[-1].place, stroke.place) if moved else stroke.start_s
        start_s = max(stroke.start_s + behind_s, free_s)
        behind_s = start_s - stroke.start_s
        moved.append(
            Stroke(
                place=stroke.place,
                number=stroke.number,
                start_s=start_s,
                end_s=stroke.end_s + behind_s,
                waited_s=start_s - free_s,
            )
        )
    return tuple(moved)
