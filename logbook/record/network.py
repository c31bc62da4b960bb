"""Is a folder on a network share? There file locks fail silently, and two writers damage a book."""

# mypy: no-warn-unreachable
# (the checker knows one system at a time)

from __future__ import annotations

import re
import sys
from pathlib import Path, PureWindowsPath

from logbook.record.errors import NetworkFolder

NETWORK_TYPES = frozenset(
    {"nfs", "nfs3", "nfs4", "cifs", "smb", "smb2", "smb3", "smbfs", "ncpfs", "afs", "9p"}
    | {"ceph", "glusterfs", "lustre", "gpfs", "beegfs", "ocfs2", "gfs2", "davfs", "webdav"}
    | {"sshfs", "fuse.sshfs", "fuse.smbnetfs", "fuse.davfs2", "fuse.glusterfs", "fuse.rclone"}
    | {"fuse.gvfsd-fuse", "fuse.curlftpfs", "fuse.s3fs", "fuse.nfs", "afpfs", "virtiofs"}
)
"""File system types of other machines' folders, as /proc/mounts names them. Two of them, 9p and
virtiofs, are how a virtual machine sees a folder of its host: the same doubt, the same answer."""

DRIVE_REMOTE = 4
"""GetDriveTypeW: the drive is a network drive (Windows API reference, fileapi.h)."""

MOUNTS = Path("/proc/mounts")


def refuse_network(path: Path, mounts: str | None = None) -> None:
    """Raise NetworkFolder where the folder of `path` lies on a network share.

    `mounts` is the text of /proc/mounts; read from the system where it is None.
    """
    kind = network_type(path, mounts)
    if kind is not None:
        msg = (
            f"The folder {path.parent} is on a network share ({kind}), where two programs can "
            "damage the book without noticing; keep the book on a disk of this computer and "
            "put backups on the share."
        )
        raise NetworkFolder(msg)


def network_type(path: Path, mounts: str | None = None) -> str | None:
    """Kind of the network share that `path` lies on, None where it is on a disk of this machine."""
    if is_unc(str(path)):
        return "UNC path"
    if sys.platform == "win32":
        return windows_drive_type(path)
    text = _system_mounts() if mounts is None else mounts
    kind = mount_type(path.absolute().parent.resolve(), text)
    return kind if kind in NETWORK_TYPES else None


def is_unc(path: str) -> bool:
    r"""True for \\server\share and its long form; not for \\?\C:\ and \\.\ device names."""
    drive = PureWindowsPath(path).drive.replace("/", "\\")
    if not path.startswith(("\\\\", "//")) or not drive.startswith("\\\\"):
        return False
    return drive.upper().startswith("\\\\?\\UNC\\") or not drive.startswith(("\\\\?\\", "\\\\.\\"))


def windows_drive_type(path: Path) -> str | None:
    """'network drive' where Windows says that the drive letter stands for a share."""
    if sys.platform != "win32":
        return None
    root = str(PureWindowsPath(path.absolute()).anchor)
    import ctypes

    remote = ctypes.windll.kernel32.GetDriveTypeW(root) == DRIVE_REMOTE
    return "network drive" if remote else None


def mount_type(folder: Path, mounts: str) -> str | None:
    """Type of the file system that `folder` is on, by the longest mount point above it."""
    best, found = -1, None
    for line in mounts.splitlines():
        fields = line.split()
        if len(fields) < 3:
            continue
        point = Path(_unescaped(fields[1]))
        # The last of several mounts on one point is the one that is seen.
        if folder.is_relative_to(point) and len(point.parts) >= best:
            best, found = len(point.parts), fields[2]
    return found


def _unescaped(text: str) -> str:
    r"""Undo the octal escapes of /proc/mounts: '\040' is a space."""
    return re.sub(r"\\([0-7]{3})", lambda match: chr(int(match[1], 8)), text)


def _system_mounts() -> str:
    try:
        return MOUNTS.read_text(encoding="utf-8", errors="surrogateescape")
    except OSError:
        return ""  # no such list on this system: nothing is known against the folder
