-- A session file. Rows are only ever added: what was done stays as it was done.
-- Texts are UTF-8, JSON where said so; times are ISO 8601 in UTC; numbers in blobs are little-endian float64.
-- Samples of short logs are deflated as said below; those of long ones are packed as model/packing.py tells.

-- The notes of a drive are texts; behind them stand, as objects, the questions that reading it left open.
-- More kinds of change came later than this list: exported; in sessions of version 2 also approval-signed,
-- acknowledged, taken-back, done-again; in those of version 3 also input-stated, channel-computed, branch-named,
-- put-in-car, and settings-set with gates on channels; in those of version 4 settings-set by which nobody can tell
-- where the wideband sits. The payload of applied names the origin of its revision
-- since then too; where it does not, the operation tells it.
CREATE TABLE change (
    sequence INTEGER PRIMARY KEY,  -- 1, 2, ... without a hole, over everything that was ever recorded
    kind TEXT NOT NULL,            -- applied, head-moved, approved, drive-added, drive-corrected, settings-set, keeping-set
    payload TEXT NOT NULL,         -- JSON; names the rows of the tables below that belong to this change
    digest TEXT NOT NULL           -- SHA-256 over the above and the digest of the change before: a chain
) STRICT;

CREATE TABLE revision (
    id INTEGER PRIMARY KEY,
    sequence INTEGER NOT NULL UNIQUE REFERENCES change (sequence),
    parent INTEGER REFERENCES revision (id),
    table_name TEXT NOT NULL,
    value_name TEXT NOT NULL,
    unit TEXT NOT NULL,
    axes TEXT NOT NULL,            -- JSON: [[name, unit, number of breakpoints], ...]
    breakpoints BLOB NOT NULL,     -- of all axes, one after the other
    cell_values BLOB NOT NULL,     -- row by row
    multipliers BLOB NOT NULL,     -- row by row; NaN where a cell was set outright
    operation TEXT NOT NULL,
    arguments TEXT NOT NULL,       -- JSON
    note TEXT NOT NULL,
    author TEXT NOT NULL,
    time TEXT NOT NULL,
    digest TEXT NOT NULL           -- SHA-256 over the above and the digest of the parent: a chain
) STRICT;

CREATE TABLE drive (
    id INTEGER PRIMARY KEY,
    sequence INTEGER NOT NULL REFERENCES change (sequence),
    revision INTEGER NOT NULL REFERENCES revision (id),
    wideband TEXT NOT NULL,
    added TEXT NOT NULL,
    file TEXT NOT NULL,
    sha256 TEXT NOT NULL,          -- of the file's bytes
    row_count INTEGER NOT NULL,
    time BLOB NOT NULL,            -- deflated
    roles TEXT NOT NULL,           -- JSON: role -> channel
    guesses TEXT NOT NULL,         -- JSON: role -> why
    notes TEXT NOT NULL            -- JSON: every assumption made in reading
) STRICT;

CREATE TABLE channel (
    drive INTEGER NOT NULL REFERENCES drive (id),
    position INTEGER NOT NULL,
    name TEXT NOT NULL,
    unit TEXT NOT NULL,
    unit_read TEXT NOT NULL,
    samples BLOB NOT NULL,         -- deflated; NaN where missing
    PRIMARY KEY (drive, position)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER change_follows BEFORE INSERT ON change
WHEN NEW.sequence IS NOT (SELECT coalesce(max(sequence), 0) + 1 FROM change)
BEGIN SELECT raise(ABORT, 'changes follow one another'); END;
CREATE TRIGGER revision_follows BEFORE INSERT ON revision
WHEN NEW.id IS NOT (SELECT coalesce(max(id), 0) + 1 FROM revision)
BEGIN SELECT raise(ABORT, 'revisions follow one another'); END;
CREATE TRIGGER drive_follows BEFORE INSERT ON drive
WHEN NEW.id IS NOT (SELECT coalesce(max(id), 0) + 1 FROM drive)
BEGIN SELECT raise(ABORT, 'drives follow one another'); END;
CREATE TRIGGER channel_follows BEFORE INSERT ON channel
WHEN NEW.position IS NOT (SELECT coalesce(max(position), -1) + 1 FROM channel WHERE drive = NEW.drive)
BEGIN SELECT raise(ABORT, 'channels follow one another'); END;

CREATE TRIGGER change_stays BEFORE UPDATE ON change
BEGIN SELECT raise(ABORT, 'changes are never changed'); END;
CREATE TRIGGER change_is_kept BEFORE DELETE ON change
BEGIN SELECT raise(ABORT, 'changes are never deleted'); END;
CREATE TRIGGER revision_stays BEFORE UPDATE ON revision
BEGIN SELECT raise(ABORT, 'revisions are never changed'); END;
CREATE TRIGGER revision_is_kept BEFORE DELETE ON revision
BEGIN SELECT raise(ABORT, 'revisions are never deleted'); END;
CREATE TRIGGER drive_stays BEFORE UPDATE ON drive
BEGIN SELECT raise(ABORT, 'drives are never changed'); END;
CREATE TRIGGER drive_is_kept BEFORE DELETE ON drive
BEGIN SELECT raise(ABORT, 'drives are never deleted'); END;
CREATE TRIGGER channel_stays BEFORE UPDATE ON channel
BEGIN SELECT raise(ABORT, 'channels are never changed'); END;
CREATE TRIGGER channel_is_kept BEFORE DELETE ON channel
BEGIN SELECT raise(ABORT, 'channels are never deleted'); END;
