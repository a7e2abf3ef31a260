"""The job folder: what lies in it, saved so that no kill loses it, one writer at a time."""

from latchwork.folder.atomic import (
    PRIVATE,
    Disk,
    free_for_file,
    remove_leftovers,
    write_all,
    write_atomic,
)
from latchwork.folder.history import Version, digest, read_versions, text_before
from latchwork.folder.lock import FolderBusy, Holder, locked
from latchwork.folder.opening import (
    JOB_FILE,
    MY_PARTS,
    FolderTexts,
    JobFolder,
    open_folder,
    read_folder,
)
from latchwork.folder.pins import PARTS_LOCK, read_parts_lock, write_parts_lock
from latchwork.folder.saving import ChangedMeanwhile, NothingToUndo, save_version, to_undo

__all__ = [
    "JOB_FILE",
    "MY_PARTS",
    "PARTS_LOCK",
    "PRIVATE",
    "ChangedMeanwhile",
    "Disk",
    "FolderBusy",
    "FolderTexts",
    "Holder",
    "JobFolder",
    "NothingToUndo",
    "Version",
    "digest",
    "free_for_file",
    "locked",
    "open_folder",
    "read_folder",
    "read_parts_lock",
    "read_versions",
    "remove_leftovers",
    "save_version",
    "text_before",
    "to_undo",
    "write_all",
    "write_atomic",
    "write_parts_lock",
]
