"""plotout explain: what a set file, a stock file or a machine's profile may hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON

if TYPE_CHECKING:
    from plotout.tables.explain import Topic


@click.command()
@click.argument("topic", required=False)
@JSON
def explain(topic: str | None, as_json: bool) -> None:
    """Explain every key of TOPIC: its purpose, unit and bounds, with an example.

    TOPIC is a file (set, stock, machine), the options of a driver (options.gcode), or one table
    (set.piece.notch, or just notch); 'limits' shows how much of a file is read. Without TOPIC, the
    topics are listed.

    Example: plotout explain set.piece.notch
    """
    from plotout.cli.limits import limits
    from plotout.explained import topics

    known = (*topics(), limits())
    chosen = _chosen(topic, known) if topic else known
    if as_json:
        from dataclasses import asdict

        print_json({"topics": [asdict(one) for one in chosen]})
    elif topic is None:
        from plotout.cli.table import table

        rows = [[one.name, one.head, one.says] for one in known]
        click.echo(table(["topic", "written", "what it is"], rows))
    else:
        from plotout.tables.explain import as_text

        click.echo("\n\n".join(as_text(one) for one in chosen))


def _chosen(name: str, known: tuple[Topic, ...]) -> tuple[Topic, ...]:
    """Return the topic of that name and those within it; the end of a name will do if unique."""
    from plotout.errors import UserError, nearest

    within = tuple(topic for topic in known if f"{topic.name}.".startswith(f"{name}."))
    if within:
        return within
    ends = tuple(topic for topic in known if f".{topic.name}".endswith(f".{name}"))
    if ends:
        return ends
    names = {part for topic in known for part in (topic.name, topic.name.rsplit(".", 1)[-1])}
    raise UserError(f"there is no topic '{name}'", fix=nearest(name, sorted(names)))
