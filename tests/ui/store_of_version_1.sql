-- A store as the first version wrote it (user_version 1).
PRAGMA user_version = 1;
BEGIN TRANSACTION;
CREATE TABLE jobs (
        id TEXT PRIMARY KEY,
        name TEXT NOT NULL,
        settings TEXT NOT NULL,
        archived INTEGER NOT NULL DEFAULT 0,
        revision INTEGER NOT NULL DEFAULT 1,
        created_utc TEXT NOT NULL,
        changed_utc TEXT NOT NULL
    ) STRICT;
INSERT INTO "jobs" VALUES('f4b6bbe292044d7399e7d28665d11a7e','Basement','{"market":"us"}',0,1,'2026-11-25T13:39:07.227354+00:00','2026-11-25T13:39:07.231634+00:00');
CREATE TABLE photos (
        sha256 TEXT PRIMARY KEY,
        jpeg BLOB NOT NULL
    ) STRICT;
INSERT INTO "photos" VALUES('75d82dfcb33db0d80495be9ff502e719d3d92602b4a0f4d9ec05112b3f7d4094',X'FFD8FF206B6570742070686F746F');
CREATE TABLE readings (
        key TEXT PRIMARY KEY,
        reading TEXT NOT NULL,
        made_utc TEXT NOT NULL
    ) STRICT;
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
INSERT INTO "surfaces" VALUES('ffa8dc17e3ee4323b12adefb197a87be','f4b6bbe292044d7399e7d28665d11a7e',0,'North wall','75d82dfcb33db0d80495be9ff502e719d3d92602b4a0f4d9ec05112b3f7d4094','{"studs":[{"id":"mark-1","front_px":[[100.5,900.0],[101.0,99.5]],"corrects_px":null}],"removed_px":[],"confirmed_px":[],"openings":[],"removed_openings_px":[],"corners_px":null,"reference":null}','{}',0,1);
INSERT INTO "surfaces" VALUES('e385cb6de586401bb4b5250e784ff245','f4b6bbe292044d7399e7d28665d11a7e',1,'Ceiling',NULL,'{"studs":[],"removed_px":[],"confirmed_px":[],"openings":[],"removed_openings_px":[],"corners_px":null,"reference":null}','{"joists_in":16}',0,1);
CREATE INDEX surfaces_of_job ON surfaces (job_id, position);
COMMIT;
