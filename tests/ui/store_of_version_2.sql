-- A store as the second version wrote it (user_version 2).
PRAGMA user_version = 2;
BEGIN TRANSACTION;
CREATE TABLE job_parts (
        job_id TEXT NOT NULL REFERENCES jobs (id),
        part TEXT NOT NULL,
        value TEXT NOT NULL,
        revision INTEGER NOT NULL DEFAULT 1,
        PRIMARY KEY (job_id, part)
    ) STRICT;
INSERT INTO "job_parts" VALUES('626586e4b6fe473d8f963b0a425ad274','delivery','{"lines":[{"line":"regular-1/2-48-144","kind":"regular","thickness_in":0.5,"width_in":48.0,"length_in":144.0,"count":9}],"places":{}}',1);
CREATE TABLE jobs (
        id TEXT PRIMARY KEY,
        name TEXT NOT NULL,
        settings TEXT NOT NULL,
        archived INTEGER NOT NULL DEFAULT 0,
        revision INTEGER NOT NULL DEFAULT 1,
        created_utc TEXT NOT NULL,
        changed_utc TEXT NOT NULL
    ) STRICT;
INSERT INTO "jobs" VALUES('626586e4b6fe473d8f963b0a425ad274','Attic','{"market":"us"}',0,1,'2026-11-25T17:34:56.116550+00:00','2026-11-25T17:34:56.136754+00:00');
CREATE TABLE photos (
        sha256 TEXT PRIMARY KEY,
        jpeg BLOB NOT NULL
    ) STRICT;
CREATE TABLE readings (
        key TEXT PRIMARY KEY,
        reading TEXT NOT NULL,
        made_utc TEXT NOT NULL
    ) STRICT;
CREATE TABLE site_events (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        job_id TEXT NOT NULL REFERENCES jobs (id),
        log TEXT NOT NULL,
        id TEXT NOT NULL,
        event TEXT NOT NULL,
        arrived_utc TEXT NOT NULL,
        UNIQUE (job_id, log, id)
    ) STRICT;
INSERT INTO "site_events" VALUES(1,'626586e4b6fe473d8f963b0a425ad274','delivery','a1','{"id":"a1","line":"regular-1/2-48-144","what":"arrived","change":2,"text":"","clock":1}','2026-11-25T17:34:56.172733+00:00');
INSERT INTO "site_events" VALUES(2,'626586e4b6fe473d8f963b0a425ad274','delivery','a2','{"id":"a2","line":"regular-1/2-48-144","what":"damaged","change":1,"text":"","clock":2}','2026-11-25T17:34:56.172756+00:00');
INSERT INTO "site_events" VALUES(3,'626586e4b6fe473d8f963b0a425ad274','delivery','a3','{"id":"a3","line":"regular-1/2-48-144","what":"note","change":0,"text":"corner crushed","clock":3}','2026-11-25T17:34:56.172760+00:00');
CREATE TABLE surfaces (
        id TEXT PRIMARY KEY,
        job_id TEXT NOT NULL REFERENCES jobs (id),
        position INTEGER NOT NULL,
        name TEXT NOT NULL,
        photo_sha256 TEXT REFERENCES photos (sha256),
        corrections TEXT NOT NULL,
        settings TEXT NOT NULL,
        removed INTEGER NOT NULL DEFAULT 0,
        revision INTEGER NOT NULL DEFAULT 1
    ) STRICT;
INSERT INTO "surfaces" VALUES('6024ae65fa5846e6a78143f988e6b600','626586e4b6fe473d8f963b0a425ad274',0,'North wall',NULL,'{"studs":[],"removed_px":[],"confirmed_px":[],"openings":[],"removed_openings_px":[],"corners_px":null,"reference":null}','{"room":"Bedroom"}',0,1);
CREATE INDEX surfaces_of_job ON surfaces (job_id, position);
COMMIT;
