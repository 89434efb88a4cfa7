"""`asfound cut`: a part of a recording as a file of its own, the pictures as they were coded."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.times import parse_seconds
from asfound.jobs.cut_clip import CutClip, cut_clip
from asfound.ports.clips import Clip

FORMAT = "asfound-clip/1"


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="cut")(cut_command)


def cut_command(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE", parser=wiring.place, help="The recording; only read."),
    ],
    out: Annotated[
        Path, typer.Argument(metavar="OUT", help="The clip, a new file with the same suffix.")
    ],
    from_: Annotated[
        str, typer.Option("--from", metavar="TIME", help="Seconds, M:SS or H:MM:SS into it.")
    ],
    to: Annotated[str, typer.Option("--to", metavar="TIME", help="Where the clip ends.")],
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Cut a clip without coding it anew; it begins with the key picture at or before --from."""
    start, end = parse_seconds(from_, "--from"), parse_seconds(to, "--to")
    with wiring.progress("Cutting") as progress:
        clip = cut_clip(CutClip(file, start, end, out), cutter=wiring.cutter(), progress=progress)
    if json:
        output.json_out(clip_data(clip, file))
    else:
        show(clip, file)


def clip_data(clip: Clip, file: Path) -> dict[str, object]:
    """The documented form (docs/proof.md)."""
    return {
        "format": FORMAT,
        "file": str(file),
        "clip": str(clip.out),
        "start_s": round(clip.held.start_s, 3),
        "end_s": round(clip.held.end_s, 3),
        "video_streams": clip.video,
        "audio_streams": clip.audio,
        "packets": clip.packets,
        "size_bytes": clip.size_bytes,
        "sha256": clip.sha256,
        "left_out": list(clip.left_out),
        "starts_late": clip.starts_late,
        "assumed_fps": clip.assumed_fps,
    }


def show(clip: Clip, file: Path) -> None:
    """What the clip holds, in lines."""
    held = clip.held
    output.say(
        f"{clip.out}: {held.start_s:.2f} to {held.end_s:.2f} s of {file.name}, "
        f"{held.end_s - held.start_s:.2f} s",
        style="bold",
    )
    sound = output.count(clip.audio, "stream") + " of sound" if clip.audio else "no sound"
    output.say(
        f"{output.count(clip.video, 'stream')} of pictures, {sound}; "
        f"{output.count(clip.packets, 'packet')} copied as coded, read back and compared"
    )
    if clip.starts_late:
        output.say("no key picture at or before --from: it begins at the first one after it")
    if clip.assumed_fps is not None:
        output.say(
            f"the recording states no times: seconds are counted at {clip.assumed_fps:g} "
            "pictures a second"
        )
    for what in clip.left_out:
        output.say(f"left out: {what}")
    output.say(f"SHA-256 {clip.sha256}")
