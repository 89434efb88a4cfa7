"""The one place of the command line that chooses back-ends."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager
from pathlib import Path

from asfound.cli import output
from asfound.errors import NotFound, UsageError
from asfound.model.menu_map import MenuMap
from asfound.ports.backends import map_toml
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.drive_space_disk import DiskSpace
from asfound.ports.backends.firmware_folder import FolderFiles
from asfound.ports.backends.log_chunks import log_chunks as chunks_of
from asfound.ports.backends.maker_signatures import Makers
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pdf_typst import TypstPdf
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.plots_vega import VegaPlotter
from asfound.ports.backends.remote_path import place as named_place
from asfound.ports.backends.results_sqlite import SqliteResults
from asfound.ports.backends.stick_disk import DiskStick
from asfound.ports.backends.stick_image import FileImage
from asfound.ports.backends.sweep_numba import sweeps as best_sweeps
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.backends.video_av_cut import AvCutter
from asfound.ports.backends.video_av_remux import AvRemuxer
from asfound.ports.backends.workers_dask import DaskWorkers
from asfound.ports.backends.workers_local import LocalWorkers
from asfound.ports.blobs import Blobs
from asfound.ports.clips import Cutter
from asfound.ports.clock import Clock
from asfound.ports.drive_space import DriveSpace
from asfound.ports.firmware_files import FirmwareFiles
from asfound.ports.maker_signatures import MakerSignatures
from asfound.ports.ocr import Ocr
from asfound.ports.pdf import PdfMaker
from asfound.ports.pictures import Pictures, Repainter
from asfound.ports.plots import Plotter
from asfound.ports.progress import Progress
from asfound.ports.remux import Remuxer
from asfound.ports.stick import Image, Stick
from asfound.ports.sweeps import Sweeps
from asfound.ports.video import Video
from asfound.ports.workers import InTurn, Workers


def pictures() -> Pictures:
    """Decoder and encoder of still pictures."""
    return PillowPictures()


def painter() -> Repainter:
    """Pictures that can be stored anew with something painted over."""
    return PillowPictures()


def ocr(threads: int = 2) -> Ocr:
    """Text recognition by so many cores. Raises MissingPart when the engine is not installed."""
    return RapidOcr(threads)


def blobs(folder: Path) -> Blobs:
    """The content-addressed store in ``folder``."""
    return FileBlobs(folder)


def video() -> Video:
    """Reader of video files."""
    return AvVideo()


def place(text: str) -> Path:
    """A file or folder of this machine, or a URL of one in storage. Raises UsageError."""
    return named_place(text)


def workers(text: str) -> Workers:
    """Who works: a number of processes (0: none but this one), "" for one on each core, or
    dask://HOST:PORT, or dask for a cluster on this machine.

    Raises UsageError, MissingPart, NotFound.
    """
    if text.isdecimal():
        return LocalWorkers(int(text)) if int(text) else InTurn()
    if text == "dask":
        return DaskWorkers("")
    if text.startswith("dask://"):
        host, _, port = text.removeprefix("dask://").rpartition(":")
        if host and port.isdecimal():
            return DaskWorkers(f"{host}:{port}")
    if text:
        raise UsageError(
            f"--workers {text}: give a number of processes (0: none), dask://HOST:PORT, or dask"
        )
    return LocalWorkers()


def results(path: Path, whole: bool = False) -> SqliteResults:
    """Results kept in the file ``path``; ``whole``: files are told by all their bytes."""
    return SqliteResults(path, lambda line: output.warn(f"asfound: {line}"), whole)


def drive_space(path: Path) -> DriveSpace:
    """Free space of the file system at ``path``. Raises NotFound, UsageError."""
    return DiskSpace(path)


def firmware_files(folder: Path) -> FirmwareFiles:
    """Files of a folder of firmware images."""
    return FolderFiles(folder)


def makers() -> MakerSignatures:
    """Checker of makers' signatures."""
    return Makers()


def stick(path: Path) -> Stick:
    """The stick mounted at ``path``."""
    return DiskStick(path)


def image(path: Path, stick: Path) -> Image:
    """The firmware image in a file that does not lie on the stick."""
    return FileImage(path, stick)


def cutter() -> Cutter:
    """Cutter of clips."""
    return AvCutter()


def remuxer() -> Remuxer:
    """Maker of files that common players play."""
    return AvRemuxer()


def pdf() -> PdfMaker:
    """Compiler of PDF documents."""
    return TypstPdf()


def plotter() -> Plotter:
    """Drawer of plots."""
    return VegaPlotter()


def sweeps() -> Sweeps:
    """Sweeps over samples, compiled where that can be had."""
    return best_sweeps()


def log_chunks(path: Path) -> Callable[[], Iterable[bytes]]:
    """The bytes of a log, again and again. Raises NotFound, InputError, StorageError."""
    return chunks_of(path)


def clock() -> Clock:
    """The system's clock."""
    return SystemClock()


def progress(title: str) -> AbstractContextManager[Progress]:
    """A progress bar on stderr."""
    return output.progress_bar(title)


def menu_map(name: str, own: Path | None = None) -> MenuMap:
    """A menu map by file path, by id in the folder ``own``, or by id among the shipped ones.

    Raises NotFound, MapError.
    """
    if name.endswith(".toml") or "/" in name:
        return map_toml.load_map(Path(name))
    if own is not None and (candidate := own / f"{name}.toml").is_file():
        return map_toml.load_map(candidate)
    shipped = map_toml.shipped_map_paths()
    if name not in shipped:
        raise NotFound(
            f"no menu map {name!r}; `asfound map list` shows the shipped ones, or name a .toml file"
        )
    return map_toml.load_map(shipped[name])
