"""A folder of jobs in one file to keep elsewhere, and out of it again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..clock import date_today

if TYPE_CHECKING:
    from ..files.packed import Packed


def register(app: typer.Typer) -> None:
    """Add the commands to the program."""

    @app.command()
    def pack(
        folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder of jobs.", show_default=False)],
        file: Annotated[
            Path, typer.Argument(metavar="FILE", help="The archive that is made (jobs.zip).", show_default=False)
        ],
        force: Annotated[bool, typer.Option("--force", help="Replace an archive that is there.")] = False,
    ) -> None:
        """Put a folder of jobs into one archive. Photographs, prices and sheets go with it, and a digest of each file.

        It is read again before it counts. Names and telephone numbers stand in it: keep it where you keep the jobs.
        """
        from ..files.packed import pack as packed

        done = packed(folder, file, date_today(), force=force)
        for name in done.left_out:
            typer.echo(f"howdeep: left out, no regular file: {folder / name}", err=True)
        typer.echo(f"Packed and read again: {_told(done)}, in {file}.")

    @app.command()
    def unpack(
        file: Annotated[
            Path, typer.Argument(metavar="FILE", help="An archive that 'howdeep pack' made.", show_default=False)
        ],
        folder: Annotated[
            Path, typer.Argument(metavar="FOLDER", help="Where its files are written.", show_default=False)
        ],
        force: Annotated[bool, typer.Option("--force", help="Replace files that are there and differ.")] = False,
    ) -> None:
        """Write the files of an archive into a folder. The whole of it is found sound first.

        Nothing is written where a digest does not agree, a name leads elsewhere, or a file is there and differs.
        """
        from ..files.packed import unpack as unpacked

        done = unpacked(file, folder, force=force)
        typer.echo(f"Sound, and written: {_told(done)}, in {folder}.")


def _told(done: Packed) -> str:
    return f"{done.files:,} file{'' if done.files == 1 else 's'}, {done.bytes:,} bytes"
