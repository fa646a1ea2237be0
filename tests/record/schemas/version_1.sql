PRAGMA application_id = 1111708209;
BEGIN TRANSACTION;
CREATE TABLE event (
                session_id TEXT NOT NULL REFERENCES session (id),
                seq INTEGER NOT NULL CHECK (seq >= 1),
                kind TEXT NOT NULL CHECK (kind <> ''),
                at_utc TEXT NOT NULL,
                monotonic_ns INTEGER NOT NULL,
                clock_trusted INTEGER NOT NULL CHECK (clock_trusted IN (0, 1)),
                body TEXT NOT NULL,
                previous_hash TEXT NOT NULL CHECK (length(previous_hash) = 64),
                hash TEXT NOT NULL CHECK (length(hash) = 64),
                PRIMARY KEY (session_id, seq)
            ) STRICT, WITHOUT ROWID
            ;
INSERT INTO "event" VALUES('20300101-080001-0a0a0a0a',1,'opened','2030-01-01T08:00:02.000Z',2000000000,1,'{"bay":{"name":"Bay one","shop":"Example Workshop"},"example":true,"technician":"A. Example","vehicle":{"name":"Example hatchback"}}','05590b64a0e5149f79607f98fb2fcce52925b39beac9057fb31b0450edebc2e4','48f2ca44dcc016ad917b81797f2a1f516390032c45433571759847c5d7db5409');
INSERT INTO "event" VALUES('20300101-080001-0a0a0a0a',2,'said','2030-01-01T08:00:02.000Z',2000000000,1,'{"prompt_id":"p1","purpose":"ask","step_id":"left_arm_mm","text":"Left arm scale."}','48f2ca44dcc016ad917b81797f2a1f516390032c45433571759847c5d7db5409','841a81bfa10481f82ddded053a8656b589c38ed3dd514b1635939d16662e3024');
INSERT INTO "event" VALUES('20300101-080001-0a0a0a0a',3,'heard','2030-01-01T08:00:03.000Z',3000000000,1,'{"clip_sha256":null,"confidence":0.93,"prompt_id":"p1","words":"seven seven five"}','841a81bfa10481f82ddded053a8656b589c38ed3dd514b1635939d16662e3024','0461de5b334b37914258a8a73e317b0eddfd251220a77d37932e02749208931b');
INSERT INTO "event" VALUES('20300101-080001-0a0a0a0a',4,'accepted','2030-01-01T08:00:03.000Z',3000000000,1,'{"attempts":1,"reading_id":"left_arm_mm","spoken":"seven seven five millimetres","title":"Left arm","u":0.29,"unit":"mm","value":"775"}','0461de5b334b37914258a8a73e317b0eddfd251220a77d37932e02749208931b','a834c4099034ef6a1fe1bd380f67f305e5d4d6af5ea3e27c21d87f90a7f6b350');
INSERT INTO "event" VALUES('20300101-080001-0a0a0a0a',5,'finished','2030-01-01T08:00:04.000Z',4000000000,1,'{"result":"inside","yaw":{"u":0.03,"value":1.5e-7}}','a834c4099034ef6a1fe1bd380f67f305e5d4d6af5ea3e27c21d87f90a7f6b350','0b9c769bbff715480065721c2ecd47195b438262d9eaf084d9059bca5efaa066');
INSERT INTO "event" VALUES('20300101-080009-0b0b0b0b',1,'opened','2030-01-01T08:00:06.000Z',6000000000,1,'{"bay":{"name":"Bay one","shop":"Example Workshop"},"example":true,"technician":"B. Sample","vehicle":{"name":"Example hatchback"}}','6f66ee8ed5f12fa791baf72dcdaba98a93294219a27229dd9481a604a8ebc711','476801d448091df6f7fdb590280dcd0edcbd626e5e589036945da1d11674f9a9');
INSERT INTO "event" VALUES('20300101-080009-0b0b0b0b',2,'said','2030-01-01T08:00:06.000Z',6000000000,1,'{"prompt_id":"p1","purpose":"ask","step_id":"left_arm_mm","text":"Left arm scale."}','476801d448091df6f7fdb590280dcd0edcbd626e5e589036945da1d11674f9a9','5cd01a8b8bbf30eba9aad352f182ce1a68bded352d04daf47b428d92edf0a853');
INSERT INTO "event" VALUES('20300101-080009-0b0b0b0b',3,'heard','2030-01-01T08:00:07.000Z',7000000000,1,'{"clip_sha256":null,"confidence":0.93,"prompt_id":"p1","words":"seven seven five"}','5cd01a8b8bbf30eba9aad352f182ce1a68bded352d04daf47b428d92edf0a853','3f6f06b7f365adce547c512da430eca5aedf16b0a1d273480572b49f4c6d7163');
INSERT INTO "event" VALUES('20300101-080009-0b0b0b0b',4,'accepted','2030-01-01T08:00:07.000Z',7000000000,1,'{"attempts":1,"reading_id":"left_arm_mm","spoken":"seven seven five millimetres","title":"Left arm","u":0.29,"unit":"mm","value":"775"}','3f6f06b7f365adce547c512da430eca5aedf16b0a1d273480572b49f4c6d7163','feabd5a5a8675595d7a608899878570cbf1d011c354f8ae80314eb4285190071');
INSERT INTO "event" VALUES('20300101-080009-0b0b0b0b',5,'finished','2030-01-01T08:00:08.000Z',8000000000,1,'{"result":"inside","yaw":{"u":0.03,"value":1.5e-7}}','feabd5a5a8675595d7a608899878570cbf1d011c354f8ae80314eb4285190071','02ae30ce5e91d846a871871ef6ff541724a66dbbb7230ffa6a7ec0c42005faba');
CREATE TABLE schema_version (
        number INTEGER NOT NULL PRIMARY KEY,
        name TEXT NOT NULL,
        applied_utc TEXT NOT NULL
    ) STRICT
;
INSERT INTO "schema_version" VALUES(1,'sessions and events','2030-01-01T08:00:00.000Z');
CREATE TABLE session (
                id TEXT NOT NULL PRIMARY KEY CHECK (id <> ''),
                opened_utc TEXT NOT NULL
            ) STRICT
            ;
INSERT INTO "session" VALUES('20300101-080001-0a0a0a0a','2030-01-01T08:00:01.000Z');
INSERT INTO "session" VALUES('20300101-080009-0b0b0b0b','2030-01-01T08:00:05.000Z');
CREATE TRIGGER event_is_never_changed BEFORE UPDATE ON event
            BEGIN SELECT RAISE(ABORT, 'append-only: an event is never changed'); END;
CREATE TRIGGER event_is_never_deleted BEFORE DELETE ON event
            BEGIN SELECT RAISE(ABORT, 'append-only: an event is never deleted'); END;
CREATE TRIGGER event_follows_the_last BEFORE INSERT ON event
            WHEN NEW.seq IS NOT (
                SELECT COALESCE(MAX(seq), 0) + 1 FROM event WHERE session_id = NEW.session_id
            )
            BEGIN SELECT RAISE(ABORT, 'append-only: an event follows the last one'); END;
CREATE TRIGGER event_is_chained BEFORE INSERT ON event
            WHEN NEW.seq > 1 AND NEW.previous_hash IS NOT (
                SELECT hash FROM event WHERE session_id = NEW.session_id AND seq = NEW.seq - 1
            )
            BEGIN SELECT RAISE(ABORT, 'append-only: an event carries the hash before it'); END;
CREATE TRIGGER session_is_never_changed BEFORE UPDATE ON session
            BEGIN SELECT RAISE(ABORT, 'append-only: a session is never changed'); END;
CREATE TRIGGER session_is_never_deleted BEFORE DELETE ON session
            BEGIN SELECT RAISE(ABORT, 'append-only: a session is never deleted'); END;
CREATE TRIGGER session_is_never_replaced BEFORE INSERT ON session
            WHEN EXISTS (SELECT 1 FROM session WHERE id = NEW.id)
            BEGIN SELECT RAISE(ABORT, 'append-only: a session is opened once'); END;
COMMIT;
