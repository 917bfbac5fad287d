"""The commands about light in the room; their work is done in modules that end in `_work`."""

from typing import Annotated

import typer

from seamsight.cli.arguments import AsJson, HeadNames, RigFile, Sets, SunWords, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight glare rig.toml --head design")
def glare(
    rig: RigFile,
    heads: HeadNames = None,
    sets: Sets = None,
    as_json: AsJson = False,
) -> None:
    """Report which lamps, windows and screens are seen mirrored.

    For each lens and screen it reports what each eye sees mirrored there, where, how bright against
    the screen, what the rig's hoods keep away, and how long a hood must be so that nothing is left.
    """
    from seamsight.cli.glare_work import print_glare

    print_glare(rig_words(rig, sets), heads or [], as_json=as_json)


@app.command(
    epilog="Example: seamsight sun rig.toml --place 52.5,13.4 --date 2026-12-21T12:00+01:00"
    " --facing 90"
)
def sun(
    rig: RigFile,
    azimuth: Annotated[
        float | None,
        typer.Option(min=-360, max=360, help="compass direction of the sun, degrees from north"),
    ] = None,
    elevation: Annotated[
        float | None, typer.Option(min=-90, max=90, help="how high the sun is, degrees")
    ] = None,
    place: Annotated[
        str | None,
        typer.Option(
            metavar="LAT,LON",
            help="place, degrees north and east, instead of azimuth and elevation",
        ),
    ] = None,
    date: Annotated[
        str | None,
        typer.Option(
            metavar="TIME", help="with --place: as 2026-12-21T12:00+01:00, with the offset from UTC"
        ),
    ] = None,
    facing: Annotated[
        float | None,
        typer.Option(
            min=-360,
            max=360,
            help="compass direction in which the pilot faces; by default azimuths count from there",
        ),
    ] = None,
    sets: Sets = None,
    as_json: AsJson = False,
) -> None:
    """Report whether the sun reaches a lens, and where its focus lies.

    In a rig with windows ([[lamp]] of kind "window") the sun comes through these alone; in one
    without, from wherever no part of the rig is in its way.
    """
    from seamsight.cli.sun_work import print_sun

    words = SunWords(azimuth, elevation, place, date, facing)
    print_sun(rig_words(rig, sets), words, as_json=as_json)
