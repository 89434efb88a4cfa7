"""What a disk's refusals mean for a person."""

from __future__ import annotations

import errno
from pathlib import Path

from asfound.errors import StorageError

_MEANS = {
    errno.ENOSPC: "the disk is full; free some space and do the last step again",
    errno.EDQUOT: "your disk quota is used up; free some space and do the last step again",
    errno.EFBIG: "the file would grow beyond the allowed size; raise the limit or move the folder",
    errno.EROFS: "the disk is read-only; mount it writable or choose another folder (--home)",
    errno.EACCES: "permission denied; mend the permissions or choose another folder (--home)",
    errno.EPERM: "permission denied; mend the permissions or choose another folder (--home)",
    errno.EIO: "the disk reports an input/output error; copy what is there and replace the disk",
    errno.ENOENT: "there is no such folder; make it first, or choose another one",
    errno.ENOTDIR: "a file stands where a folder is needed; move it or choose another folder",
    errno.EEXIST: "a file stands where a folder is needed; move it or choose another folder",
    errno.EMFILE: "too many files are open; close other programs and do the last step again",
    errno.ENAMETOOLONG: "the name is too long for this disk; choose a shorter folder (--home)",
}


def storage_error(error: OSError, path: Path) -> StorageError:
    """``error`` as one line that names the place, what is wrong and what to do."""
    reason = error.strerror or str(error) or type(error).__name__
    means = _MEANS.get(error.errno or 0, f"{reason}; look at the disk and do the last step again")
    return StorageError(f"{path}: {means}")
