"""What comes next: each step of a practice ends by naming the following one."""

import shlex
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import click

from sweptwater_cli.show import tell

Given = Mapping[str, Any]
"""The options and arguments of a command, by name."""

_NEXT = ("day", "wind", "sky", "pair", "drogue")
_MATCH = ("day", "wind", "gust", "sky", "drogue")


class Step(click.Command):
    """A command that, done, says what comes next; not to programs, which read JSON.

    One that returns False has nothing to go on with, or has said itself what to do.
    """

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command."""
        done = super().invoke(ctx)
        if done is not False and not ctx.params.get("as_json"):
            words = ctx.command_path.split()[1:]
            tell(f"Next: {NEXT[' '.join(words)](ctx.params)}")
        return done


def _again(given: Given, names: Sequence[str]) -> str:
    """Return the options that a command was given, for the one that follows."""
    return "".join(
        f" --{name} {shlex.quote(str(given[name]))}"
        for name in names
        if given.get(name)
    ) + (" --across" if given.get("across") else "")


NEXT: Mapping[str, Callable[[Given], str]] = {
    "venue add": lambda _: "when the venue is whole: sweptwater divide",
    "divide": lambda _: (
        "the sheets of a day, in its wind as forecast: sweptwater plan --wind SW4"
    ),
    "plan": lambda _: (
        "print the sheets and send each pair its page; in the evening: "
        "sweptwater upload --pair PAIR FILE"
    ),
    "upload": lambda given: (
        "what each rod met, drift by drift: sweptwater tally "
        f"{shlex.quote(given['pair'])} 1 bow blank"
    ),
    "tally": lambda _: "what is searched by now: sweptwater coverage",
    "coverage": lambda _: "where the next hours do most good: sweptwater next",
    "unfished": lambda _: "what of it comes first: sweptwater next",
    "rates": lambda _: "where the next hours do most good: sweptwater next",
    "next": lambda given: (
        f"drifts for it: sweptwater plan --next{_again(given, _NEXT)}"
    ),
    "starts": lambda given: (
        f"the brief for the team: sweptwater brief{_again(given, _MATCH)}"
    ),
    "brief": lambda _: (
        "print the page on A4, cut its last side into cards, and hold the match's own "
        "rules against it"
    ),
}
"""What to say after a command, by its words; what is to be typed stands last."""
