"""Books on network shares are refused, with the reason."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.record import NetworkFolder, create_book, open_book
from logbook.record.network import is_unc, mount_type, network_type, refuse_network

MOUNTS = r"""
proc /proc proc rw 0 0
/dev/sda1 / ext4 rw,relatime 0 0
server:/export /mnt/plant nfs4 rw,vers=4.2 0 0
//server/share /mnt/my\040share cifs rw 0 0
/dev/sdb1 /mnt/plant/local xfs rw 0 0
user@host:/data /home/op/remote fuse.sshfs rw 0 0
host /vm 9p rw 0 0
/dev/sdc1 /mnt/usb vfat rw 0 0
tmpfs /mnt/twice tmpfs rw 0 0
server:/b /mnt/twice nfs rw 0 0
short line
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/var/books", None),
        ("/mnt/plant", "nfs4"),
        ("/mnt/plant/deep/down", "nfs4"),
        ("/mnt/plant/local", None),
        ("/mnt/plantation", None),
        ("/mnt/my share/x", "cifs"),
        ("/home/op/remote", "fuse.sshfs"),
        ("/vm/books", "9p"),
        ("/mnt/usb", None),
        ("/mnt/twice", "nfs"),
    ],
)
def test_the_mount_above_a_folder_decides(folder, kind):
    """The longest mount point counts, and of two on one point the later."""
    assert network_type(Path(folder) / "plant.book", MOUNTS) == kind


def test_the_type_of_a_local_disk_is_told_too():
    """`mount_type` names any file system."""
    assert mount_type(Path("/mnt/usb/x"), MOUNTS) == "vfat"
    assert mount_type(Path("/x"), "") is None


@pytest.mark.parametrize(
    ("path", "unc"),
    [
        (r"\\server\share\plant.book", True),
        ("//server/share/plant.book", True),
        (r"\\?\UNC\server\share\plant.book", True),
        (r"\\?\C:\books\plant.book", False),
        (r"\\.\pipe\x", False),
        (r"C:\books\plant.book", False),
        ("/home/op/plant.book", False),
        ("plant.book", False),
    ],
)
def test_paths_of_windows_shares_are_known(path, unc):
    """A share by its name, also in the long form; not a drive letter in the long form."""
    assert is_unc(path) is unc


def test_a_link_into_a_share_is_followed(tmp_path):
    """What counts is where the folder really is."""
    share = tmp_path / "share"
    share.mkdir()
    (tmp_path / "link").symlink_to(share)
    mounts = f"/dev/sda1 / ext4 rw 0 0\nserver:/x {share} nfs rw 0 0\n"
    assert network_type(tmp_path / "link" / "plant.book", mounts) == "nfs"


def test_opening_a_book_on_a_share_is_refused_with_the_reason(book, path, clock):
    """The sentence names the folder, the kind, the danger and what to do."""
    mounts = f"server:/x {path.parent} nfs4 rw 0 0"
    with pytest.raises(NetworkFolder, match=r"network share \(nfs4\).*disk of this computer"):
        open_book(path, clock=clock, mounts=mounts)
    with pytest.raises(NetworkFolder):
        open_book(path, clock=clock, mounts=mounts, writable=False)


def test_a_book_is_not_made_on_a_share(plant, clock):
    """A UNC path is refused before anything is touched."""
    with pytest.raises(NetworkFolder, match="UNC path"):
        create_book(Path("//server/share/plant.book"), plant, clock=clock, person="eva", reason="x")


def test_without_a_list_of_mounts_nothing_is_refused():
    """On a system without /proc/mounts the folder passes."""
    refuse_network(Path("/anywhere/plant.book"), "")
