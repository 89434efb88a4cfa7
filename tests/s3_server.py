"""A server with Amazon S3's interface on this machine: moto's, which keeps everything in memory.

Its answers are modelled on Amazon S3's API reference (https://docs.getmoto.org/en/latest/).
"""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import boto3

COLOUR = re.compile(r"\x1b\[[0-9;]*m")
KEY, SECRET = "test-key-id", "test-secret-never-shown"


@dataclass(frozen=True)
class Server:
    """The running server, what programs need in their environment to use it, and its log."""

    environment: Mapping[str, str]
    log: Path

    def client(self) -> Any:
        """A client of its own, apart from what is tested."""
        return boto3.client(
            "s3",
            region_name="eu-south-2",
            endpoint_url=self.environment["AWS_ENDPOINT_URL"],
            aws_access_key_id=KEY,
            aws_secret_access_key=SECRET,
        )

    def requests(self) -> list[str]:
        """Method and address of every request so far."""
        text = COLOUR.sub("", self.log.read_text(errors="replace"))
        return [line.split('"')[1] for line in text.splitlines() if " HTTP/1.1" in line]


@contextmanager
def s3_server(folder: Path) -> Iterator[Server]:
    """Started, and ended afterwards."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    log = folder / "s3.log"
    with (
        log.open("wb") as out,
        subprocess.Popen(
            [sys.executable, "-m", "moto.server", "-H", "127.0.0.1", "-p", str(port)],
            stdout=out,
            stderr=subprocess.STDOUT,
            env={**os.environ, "PYTHONWARNINGS": "ignore"},
        ) as process,
    ):
        try:
            _wait(port)
            yield Server(
                {
                    "AWS_ACCESS_KEY_ID": KEY,
                    "AWS_SECRET_ACCESS_KEY": SECRET,
                    "AWS_DEFAULT_REGION": "eu-south-2",
                    "AWS_ENDPOINT_URL": f"http://127.0.0.1:{port}",
                    "AWS_EC2_METADATA_DISABLED": "true",
                },
                log,
            )
        finally:
            process.kill()


def _wait(port: int) -> None:
    deadline = time.monotonic() + 60
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.1)


def put_folder(server: Server, folder: Path, bucket: str, prefix: str) -> None:
    """Every file below ``folder`` as an object."""
    client = server.client()
    client.create_bucket(
        Bucket=bucket, CreateBucketConfiguration={"LocationConstraint": "eu-south-2"}
    )
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            key = f"{prefix}/{path.relative_to(folder).as_posix()}"
            client.put_object(Bucket=bucket, Key=key, Body=path.read_bytes())


def trail(server: Server, bucket: str) -> list[tuple[str, int, str, str]]:
    """Every object of a bucket: key, size, tag, time of last change."""
    pages = server.client().get_paginator("list_objects_v2").paginate(Bucket=bucket)
    return [
        (one["Key"], one["Size"], one["ETag"], str(one["LastModified"]))
        for page in pages
        for one in page.get("Contents", [])
    ]
