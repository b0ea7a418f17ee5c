-- A store as the third version wrote it (user_version 3).
PRAGMA user_version = 3;
BEGIN TRANSACTION;
CREATE TABLE job_parts (
        job_id TEXT NOT NULL REFERENCES jobs (id),
        part TEXT NOT NULL,
        value TEXT NOT NULL,
        revision INTEGER NOT NULL DEFAULT 1,
        PRIMARY KEY (job_id, part)
    ) STRICT;
CREATE TABLE jobs (
        id TEXT PRIMARY KEY,
        name TEXT NOT NULL,
        settings TEXT NOT NULL,
        archived INTEGER NOT NULL DEFAULT 0,
        revision INTEGER NOT NULL DEFAULT 1,
        created_utc TEXT NOT NULL,
        changed_utc TEXT NOT NULL
    ) STRICT;
INSERT INTO "jobs" VALUES('dcb70f98823d48f69147a37272a08697','Workshop','{"market":"us"}',0,1,'2026-11-26T02:31:16.157558+00:00','2026-11-26T02:31:16.233650+00:00');
CREATE TABLE photos (
        sha256 TEXT PRIMARY KEY,
        jpeg BLOB NOT NULL
    ) STRICT;
INSERT INTO "photos" VALUES('265bb5568edb4d5126505febfb9cb84e2c05f3988437650046ebbdaf30ff1513',X'FFD8FF2031');
INSERT INTO "photos" VALUES('06eb387aa0b77e2e4055a622b8ef5db240b39ae17b4ae490c37603ad3cbe92e7',X'FFD8FF2032');
INSERT INTO "photos" VALUES('56aef96c04995a7bfc4f217038ead58ed904c0c8b580182d30d8d7bf34468cac',X'FFD8FF2033');
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
    , part_of TEXT REFERENCES surfaces (id)) STRICT;
INSERT INTO "surfaces" VALUES('fa7ba1c3a75a454eb3346c0ea1b9b940','dcb70f98823d48f69147a37272a08697',0,'Long wall','265bb5568edb4d5126505febfb9cb84e2c05f3988437650046ebbdaf30ff1513','{"studs":[],"removed_px":[],"confirmed_px":[],"openings":[],"removed_openings_px":[],"corners_px":null,"reference":{"kind":"tape","length_in":96.0,"length_text":"8 ft","from_px":[10.0,900.0],"to_px":[970.0,900.0],"stands_proud_in":0.0},"second":{"kind":"tape","length_in":48.0,"length_text":"4 ft","from_px":[10.0,20.0],"to_px":[490.0,20.0],"stands_proud_in":0.0},"tape_readings":[]}','{"board_width":"48in"}',0,3,NULL);
INSERT INTO "surfaces" VALUES('82aab1ecbe1d4b2dbf6374cbc3195849','dcb70f98823d48f69147a37272a08697',0,'Long wall','06eb387aa0b77e2e4055a622b8ef5db240b39ae17b4ae490c37603ad3cbe92e7','{"studs":[{"id":"mark-1","front_px":[[100.5,900.0],[101.0,99.5]],"corrects_px":null}],"removed_px":[],"confirmed_px":[],"openings":[],"removed_openings_px":[],"corners_px":null,"reference":null,"second":null,"tape_readings":[]}','{"place":1,"same":{"neighbour":"265bb5568edb4d5126505febfb9cb84e2c05f3988437650046ebbdaf30ff1513","own_px":[[100.5,900.0],[101.0,99.5]],"neighbour_px":[[100.5,900.0],[101.0,99.5]]}}',0,2,'fa7ba1c3a75a454eb3346c0ea1b9b940');
INSERT INTO "surfaces" VALUES('55acf80ada5f4f61b11de208fd944748','dcb70f98823d48f69147a37272a08697',0,'Long wall','56aef96c04995a7bfc4f217038ead58ed904c0c8b580182d30d8d7bf34468cac','{"studs":[],"removed_px":[],"confirmed_px":[],"openings":[],"removed_openings_px":[],"corners_px":null,"reference":null,"second":null,"tape_readings":[]}','{"place":-1}',0,1,'fa7ba1c3a75a454eb3346c0ea1b9b940');
CREATE INDEX surfaces_of_job ON surfaces (job_id, position);
CREATE INDEX photos_of_surface ON surfaces (part_of) WHERE part_of IS NOT NULL;
COMMIT;
