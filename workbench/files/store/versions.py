"""Which version of the file a program must know to read a change."""

from workbench.files.store.rows import KEPT


def version_of(kind: str, payload: str) -> int:
    """Return the version of the file that a program must know to read a change."""
    if kind == "drive-corrected" and '"asked":[{' in payload:
        return 5
    if kind == "settings-set" and '"wideband":"unknown"' in payload:
        return 4
    own_gates = kind == "settings-set" and ('"channels":[{' in payload or '"delays":[{' in payload)
    left_out = kind == "drive-corrected" and '"left_out":' in payload
    if own_gates or left_out or kind in ("input-stated", "channel-computed", "branch-named", "put-in-car"):
        return 3
    later = kind in ("approval-signed", "acknowledged", "taken-back", "done-again")
    return 2 if later or (kind == "drive-added" and KEPT in payload) else 1
