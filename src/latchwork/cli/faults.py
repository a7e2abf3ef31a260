"""``latchwork faults``: every single fault and every attack, and what it does to each door."""

from __future__ import annotations

from pathlib import Path

import click

from latchwork.cli.command import INTERRUPTED
from latchwork.cli.faults_call import Asked, Call, Elsewhere, Tables

SOMETHING = 1


@click.command()
@click.argument("jobs", metavar="JOB...", type=click.Path(path_type=Path), nargs=-1, required=True)
@click.option("--door", "doors", metavar="DOOR", multiple=True, help="This door only; may repeat.")
@click.option("--fault", metavar="TEXT", default="", help="Faults whose name holds these words.")
@click.option(
    "--attacks/--no-attacks",
    default=None,
    help="Whether attacks from outside are run: with --fault not unless asked for.",
)
@click.option(
    "--pairs", metavar="N", type=click.IntRange(0), default=0, help="Silent faults with a second."
)
@click.option("--worst", is_flag=True, help="Also at least and at most volts.")
@click.option("--remedies", is_flag=True, help="Try changes against what traps, blocks, opens.")
@click.option(
    "--csv",
    "csv_file",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write every what-if as a row; of a large job those that do something.",
)
@click.option(
    "--parquet",
    "parquet_file",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="The same as a Parquet file.",
)
@click.option(
    "--on",
    "address",
    metavar="ADDRESS",
    help="Work on a Dask cluster: tcp://127.0.0.1:PORT, elsewhere tls://HOST:PORT.",
)
@click.option("--tls-ca", metavar="FILE", default="", help="Whom to trust, for tls://.")
@click.option("--tls-cert", metavar="FILE", default="", help="This end's certificate, for tls://.")
@click.option("--tls-key", metavar="FILE", default="", help="This end's key, for tls://.")
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs, a line a job.")
def faults(
    jobs: tuple[Path, ...],
    doors: tuple[str, ...],
    fault: str,
    attacks: bool | None,
    pairs: int,
    worst: bool,
    remedies: bool,
    csv_file: Path | None,
    parquet_file: Path | None,
    address: str | None,
    tls_ca: str,
    tls_cert: str,
    tls_key: str,
    as_json: bool,
) -> None:
    """Say what every single fault and every attack from outside does to each door of JOB.

    Each core open, shorted, on plus or minus; each joint at 1, 10 and 100 ohm; each contact welded
    or stuck, each pole by itself; each state that a part may be in. Told is what traps people,
    blocks the exit, opens, stops, or stays silent until something else happens. With --pairs N at
    most N silent faults are paired with a second one.

    Several jobs are run side by side and told one after another, in the order given.

    \b
    Examples:
      latchwork faults boatyard
      latchwork faults boatyard --door D3 --fault "exit open"
      latchwork faults boatyard --no-attacks --pairs 5000 --worst
      latchwork faults boatyard --door D3 --remedies
      latchwork faults jobs/* --no-attacks --json
      latchwork faults boatyard --on tcp://127.0.0.1:8786
    """
    attacked = not fault if attacks is None else attacks
    asked = Asked(doors, fault, attacked, pairs, worst, remedies)
    tables = Tables(csv_file, parquet_file)
    call = Call(jobs, asked, tables, Elsewhere(address, tls_ca, tls_cert, tls_key), as_json)
    try:
        answers = call.run()
        call.show(answers)
    except KeyboardInterrupt:
        click.echo(call.stopped(), err=True)
        raise click.exceptions.Exit(INTERRUPTED) from None
    if any(
        door.faults or door.attacks or door.missing for answer in answers for door in answer.doors
    ):
        raise click.exceptions.Exit(SOMETHING)
