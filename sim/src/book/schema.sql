-- One row a version of an entry; the highest version holds, the lower ones are its history.
CREATE TABLE feeding(
  number INTEGER NOT NULL,
  version INTEGER NOT NULL,
  written TEXT NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%SZ', 'now')),
  reason TEXT NOT NULL,
  struck INTEGER NOT NULL,
  day TEXT NOT NULL,
  herd TEXT NOT NULL,
  head INTEGER,
  lot TEXT NOT NULL,
  place TEXT NOT NULL,
  bales REAL NOT NULL,
  fed_lb REAL NOT NULL,
  entered TEXT,
  "left" TEXT,
  note TEXT NOT NULL,
  log TEXT, -- what tells the log that it came from, if it came from one
  PRIMARY KEY(number, version)
) STRICT;

-- The last look at an entry holds.
CREATE TABLE look(
  id INTEGER PRIMARY KEY,
  written TEXT NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%SZ', 'now')),
  number INTEGER NOT NULL,
  day TEXT NOT NULL,
  refusal_lb REAL NOT NULL,
  residue_lb REAL NOT NULL,
  note TEXT NOT NULL
) STRICT;
CREATE INDEX look_number ON look(number);

-- The last count of a lot holds.
CREATE TABLE stock(
  id INTEGER PRIMARY KEY,
  written TEXT NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%SZ', 'now')),
  day TEXT NOT NULL,
  lot TEXT NOT NULL,
  bales REAL NOT NULL,
  weight_lb REAL NOT NULL
) STRICT;

CREATE TRIGGER feeding_is_kept BEFORE UPDATE ON feeding
BEGIN SELECT RAISE(ABORT, 'nothing in a book is changed'); END;
CREATE TRIGGER feeding_stays BEFORE DELETE ON feeding
BEGIN SELECT RAISE(ABORT, 'nothing in a book is changed'); END;
CREATE TRIGGER look_is_kept BEFORE UPDATE ON look
BEGIN SELECT RAISE(ABORT, 'nothing in a book is changed'); END;
CREATE TRIGGER look_stays BEFORE DELETE ON look
BEGIN SELECT RAISE(ABORT, 'nothing in a book is changed'); END;
CREATE TRIGGER stock_is_kept BEFORE UPDATE ON stock
BEGIN SELECT RAISE(ABORT, 'nothing in a book is changed'); END;
CREATE TRIGGER stock_stays BEFORE DELETE ON stock
BEGIN SELECT RAISE(ABORT, 'nothing in a book is changed'); END;
