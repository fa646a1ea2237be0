PRAGMA application_id = 1111708209;
BEGIN TRANSACTION;
CREATE TABLE box (
                number INTEGER NOT NULL PRIMARY KEY CHECK (number >= 1),
                public_key TEXT NOT NULL CHECK (length(public_key) = 64)
            ) STRICT
            ;
INSERT INTO "box" VALUES(1,'c9a6b05f473f6656acfec2ea1fa3a73bc702e4605da53701f668e31e03558f4f');
CREATE TABLE box_mark (
                number INTEGER NOT NULL PRIMARY KEY CHECK (number >= 1),
                box INTEGER NOT NULL REFERENCES box (number),
                what TEXT NOT NULL CHECK (what IN ('found', 'opened', 'written', 'sealed')),
                session_id TEXT NOT NULL,
                seq INTEGER NOT NULL CHECK (seq >= 0),
                head TEXT NOT NULL CHECK (length(head) = 64),
                previous BLOB NOT NULL CHECK (length(previous) = 32),
                signature BLOB NOT NULL CHECK (length(signature) = 64)
            ) STRICT
            ;
INSERT INTO "box_mark" VALUES(1,1,'found','20300101-080001-0a0a0a0a',6,'43b7ed712e67785012a18f676bbaf648d472c1e6337c47afed7b85ed9cd890a8',X'0000000000000000000000000000000000000000000000000000000000000000',X'B1A323033346481D297F911F3EA73487BD7A6327089C494219ECFD0D6C1774D6F2F583FB96DF87C9D4A08EF53A6219EC027BCDB88620D530C5F777F41A9B0F00');
INSERT INTO "box_mark" VALUES(2,1,'found','20300101-080009-0b0b0b0b',5,'02ae30ce5e91d846a871871ef6ff541724a66dbbb7230ffa6a7ec0c42005faba',X'3088CE64674EA5A9159D006D473398245772F34080051E70E0ED5DD4455B38B2',X'E19AC5D63F22DB99345DAFF51E32D450184D5C2413C28C01D838F19745CBA80FB1462BFF495A9E995DDCBA477D655A983581F45AFD02C51A0670BA47178DD10D');
INSERT INTO "box_mark" VALUES(3,1,'opened','office',0,'a84f7bc892b48d94de94a09df21dee52a7f2415cbc5f3757c49e56daeec4987b',X'F33B73C27D65671D5EA4ADDF7E6EBE0EE37E3E69564DD72E5089456A394C7F43',X'73508DA185BB34D05418EA757C09FD7923E607DF814C0A6EB46BE4468E9B04E988BB8AF7C1CAE98B2876086056CFE83FE77122411390A19DDF7BE576B33D9F08');
INSERT INTO "box_mark" VALUES(4,1,'written','office',1,'d9d47343ca6d4bf370965b048f660a58e6c75386452ed4142bf2a90210d1c564',X'2E628BA091A5F252562B3C65BBDB09B4500B8B7EF58090DC0249862C63445E36',X'C51A0120091D39597D11C0D1CBE4E4D8DA76654BB4108C37EF1A1E753F4E8106BED09A21B215D3BB3CA43986738F0CA374FAA028E3069EC7A98EA3A3459D8B04');
INSERT INTO "box_mark" VALUES(5,1,'opened','20300102-080001-0c0c0c0c',0,'c17c97c128bad247b50299601530d18ca91e82f04ebeef3922e56af909ce4b6a',X'632C4B4227F544211B45B0257F56BAAFC8AC5A01CB6176CBE8596FDD27B42225',X'09E7A7AC27FBE655F04288AC3CCA4BD93675F9D2B0F3D9E6C2A0639FF9789C706E73275FDE8A4D6164638F972C7CD658915E00E8652DDA023DD946A0C563610C');
INSERT INTO "box_mark" VALUES(6,1,'written','20300102-080001-0c0c0c0c',2,'eb2ec1d7aeac8514da603a8eb6edde0d1850293269090d46b65743396ff62f01',X'D79F6C350D179E49D08D379D7BC0862BDC7A54653888482979CBA7B943482360',X'D4B79F77ACE2BAA71D5C4A39F379600B796CFFCDDC36A86C56ADBFA2A1DB5CC9D603C0ED28D2BA0D50D0111AEF5A8E5F945125CEE95EC754187DB50A25D1C90B');
INSERT INTO "box_mark" VALUES(7,1,'written','20300102-080001-0c0c0c0c',3,'a56191a4615d0a4771d2a6372059c0f33dc4669880973251b2bf89dc28cc5f43',X'DF18EBE7DAB5FDB5C73AD3D77F96E5EA31FB034B3F6F3745E637E2E5F1FF5E5B',X'E05A1B6463B7D2909C0CB216517BEE865A602338820E8AD51CB3FBA4B770845064010646C419E8A64B58F6835143E08721F52C0DAB346EB6FCC3193F78D89801');
INSERT INTO "box_mark" VALUES(8,1,'sealed','',5,'10df93fd7de6c05d828496820f9b9bafb0f442b7d64d4b92176c350b243d3e84',X'4B11DB4CA2509186C4A639C249D6F69E3ABD52FB588862482CD1A4E8415D4B5C',X'DD14995E35E7DEF2A7D1F9057CF553DBA4A43348459F1148396DDFD8F273D76199CA81B6240F145AEE513A276B69146FE301906E882A29C59E688BAA852B490C');
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
INSERT INTO "event" VALUES('20300101-080001-0a0a0a0a',6,'signed_off','2030-01-01T08:00:06.000Z',6000000000,1,'{"by":"B. Sample","events":5,"head":"0b9c769bbff715480065721c2ecd47195b438262d9eaf084d9059bca5efaa066","how":"pin","remark":"","role":"supervisor","signature":null}','0b9c769bbff715480065721c2ecd47195b438262d9eaf084d9059bca5efaa066','43b7ed712e67785012a18f676bbaf648d472c1e6337c47afed7b85ed9cd890a8');
INSERT INTO "event" VALUES('20300101-080009-0b0b0b0b',1,'opened','2030-01-01T08:00:06.000Z',6000000000,1,'{"bay":{"name":"Bay one","shop":"Example Workshop"},"example":true,"technician":"B. Sample","vehicle":{"name":"Example hatchback"}}','6f66ee8ed5f12fa791baf72dcdaba98a93294219a27229dd9481a604a8ebc711','476801d448091df6f7fdb590280dcd0edcbd626e5e589036945da1d11674f9a9');
INSERT INTO "event" VALUES('20300101-080009-0b0b0b0b',2,'said','2030-01-01T08:00:06.000Z',6000000000,1,'{"prompt_id":"p1","purpose":"ask","step_id":"left_arm_mm","text":"Left arm scale."}','476801d448091df6f7fdb590280dcd0edcbd626e5e589036945da1d11674f9a9','5cd01a8b8bbf30eba9aad352f182ce1a68bded352d04daf47b428d92edf0a853');
INSERT INTO "event" VALUES('20300101-080009-0b0b0b0b',3,'heard','2030-01-01T08:00:07.000Z',7000000000,1,'{"clip_sha256":null,"confidence":0.93,"prompt_id":"p1","words":"seven seven five"}','5cd01a8b8bbf30eba9aad352f182ce1a68bded352d04daf47b428d92edf0a853','3f6f06b7f365adce547c512da430eca5aedf16b0a1d273480572b49f4c6d7163');
INSERT INTO "event" VALUES('20300101-080009-0b0b0b0b',4,'accepted','2030-01-01T08:00:07.000Z',7000000000,1,'{"attempts":1,"reading_id":"left_arm_mm","spoken":"seven seven five millimetres","title":"Left arm","u":0.29,"unit":"mm","value":"775"}','3f6f06b7f365adce547c512da430eca5aedf16b0a1d273480572b49f4c6d7163','feabd5a5a8675595d7a608899878570cbf1d011c354f8ae80314eb4285190071');
INSERT INTO "event" VALUES('20300101-080009-0b0b0b0b',5,'finished','2030-01-01T08:00:08.000Z',8000000000,1,'{"result":"inside","yaw":{"u":0.03,"value":1.5e-7}}','feabd5a5a8675595d7a608899878570cbf1d011c354f8ae80314eb4285190071','02ae30ce5e91d846a871871ef6ff541724a66dbbb7230ffa6a7ec0c42005faba');
INSERT INTO "event" VALUES('20300102-080001-0c0c0c0c',1,'opened','2030-01-02T08:00:04.000Z',4000000000,1,'{"example":true,"technician":"A. Example"}','c17c97c128bad247b50299601530d18ca91e82f04ebeef3922e56af909ce4b6a','2c0fd2f3e80312f9febbf95f2eeab0750257698a13e1743d9a3b1f7064f6214f');
INSERT INTO "event" VALUES('20300102-080001-0c0c0c0c',2,'finished','2030-01-02T08:00:04.000Z',4000000000,1,'{"result":"inside"}','2c0fd2f3e80312f9febbf95f2eeab0750257698a13e1743d9a3b1f7064f6214f','eb2ec1d7aeac8514da603a8eb6edde0d1850293269090d46b65743396ff62f01');
INSERT INTO "event" VALUES('20300102-080001-0c0c0c0c',3,'signed_off','2030-01-02T08:00:05.000Z',5000000000,1,'{"by":"B. Sample","events":2,"head":"eb2ec1d7aeac8514da603a8eb6edde0d1850293269090d46b65743396ff62f01","how":"pin","remark":"","role":"supervisor","signature":{"algorithm":"Ed25519","public_key":"23244ba3d3c40ef0fc3ca6bf7976a2456da72a78ab27bb0b884e41330b4a971c","value":"1fbabb7f32b7a6fd58ae662c50ee964547abf9a9caac78821a35a02c210aacce256d4b32afa1dc6d42e6b4617a6b9dd4d6de269bdc7175fc80aac077f9f47c06"}}','eb2ec1d7aeac8514da603a8eb6edde0d1850293269090d46b65743396ff62f01','a56191a4615d0a4771d2a6372059c0f33dc4669880973251b2bf89dc28cc5f43');
INSERT INTO "event" VALUES('office',1,'person_enrolled','2030-01-02T08:00:02.000Z',2000000000,1,'{"instead_of":"","name":"B. Sample","own":{"algorithm":"Ed25519","public_key":"23244ba3d3c40ef0fc3ca6bf7976a2456da72a78ab27bb0b884e41330b4a971c","value":"7d9b97a404e2fe83468c15588742220486b6c42d477c3c8a8a195c4f280dd823696bdb1cb29f629f334a9f7b4743980724f7618018fe85ca3df5b4d3e97de102"},"public_key":"23244ba3d3c40ef0fc3ca6bf7976a2456da72a78ab27bb0b884e41330b4a971c","role":"supervisor","vouch":null,"vouched_by":""}','a84f7bc892b48d94de94a09df21dee52a7f2415cbc5f3757c49e56daeec4987b','d9d47343ca6d4bf370965b048f660a58e6c75386452ed4142bf2a90210d1c564');
CREATE TABLE schema_version (
        number INTEGER NOT NULL PRIMARY KEY,
        name TEXT NOT NULL,
        applied_utc TEXT NOT NULL
    ) STRICT
;
INSERT INTO "schema_version" VALUES(1,'sessions and events','2030-01-01T08:00:00.000Z');
INSERT INTO "schema_version" VALUES(2,'sealed heads','2030-01-01T08:00:00.000Z');
INSERT INTO "schema_version" VALUES(3,'marks of the box','2030-01-02T08:00:00.000Z');
CREATE TABLE sealed_head (
                number INTEGER NOT NULL PRIMARY KEY CHECK (number >= 1),
                session_id TEXT NOT NULL REFERENCES session (id),
                seq INTEGER NOT NULL CHECK (seq >= 0)
            ) STRICT
            ;
INSERT INTO "sealed_head" VALUES(1,'20300101-080001-0a0a0a0a',5);
INSERT INTO "sealed_head" VALUES(2,'20300101-080009-0b0b0b0b',5);
INSERT INTO "sealed_head" VALUES(3,'20300101-080001-0a0a0a0a',6);
INSERT INTO "sealed_head" VALUES(4,'office',1);
INSERT INTO "sealed_head" VALUES(5,'20300102-080001-0c0c0c0c',3);
CREATE TABLE session (
                id TEXT NOT NULL PRIMARY KEY CHECK (id <> ''),
                opened_utc TEXT NOT NULL
            ) STRICT
            ;
INSERT INTO "session" VALUES('20300101-080001-0a0a0a0a','2030-01-01T08:00:01.000Z');
INSERT INTO "session" VALUES('20300101-080009-0b0b0b0b','2030-01-01T08:00:05.000Z');
INSERT INTO "session" VALUES('office','2030-01-02T08:00:01.000Z');
INSERT INTO "session" VALUES('20300102-080001-0c0c0c0c','2030-01-02T08:00:03.000Z');
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
CREATE INDEX sealed_head_by_session ON sealed_head (session_id, seq);
CREATE TRIGGER sealed_head_is_never_changed BEFORE UPDATE ON sealed_head
            BEGIN SELECT RAISE(ABORT, 'append-only: a sealed head is never changed'); END;
CREATE TRIGGER sealed_head_is_never_deleted BEFORE DELETE ON sealed_head
            BEGIN SELECT RAISE(ABORT, 'append-only: a sealed head is never deleted'); END;
CREATE TRIGGER sealed_head_follows_the_last BEFORE INSERT ON sealed_head
            WHEN NEW.number IS NOT (SELECT COALESCE(MAX(number), 0) + 1 FROM sealed_head)
            BEGIN SELECT RAISE(ABORT, 'append-only: a sealed head follows the last one'); END;
CREATE INDEX box_mark_by_session ON box_mark (session_id);
CREATE TRIGGER box_is_never_changed BEFORE UPDATE ON box
            BEGIN SELECT RAISE(ABORT, 'append-only: a box is never changed'); END;
CREATE TRIGGER box_is_never_deleted BEFORE DELETE ON box
            BEGIN SELECT RAISE(ABORT, 'append-only: a box is never deleted'); END;
CREATE TRIGGER box_follows_the_last BEFORE INSERT ON box
            WHEN NEW.number IS NOT (SELECT COALESCE(MAX(number), 0) + 1 FROM box)
            BEGIN SELECT RAISE(ABORT, 'append-only: a box follows the last one'); END;
CREATE TRIGGER box_mark_is_never_changed BEFORE UPDATE ON box_mark
            BEGIN SELECT RAISE(ABORT, 'append-only: a mark of the box is never changed'); END;
CREATE TRIGGER box_mark_is_never_deleted BEFORE DELETE ON box_mark
            BEGIN SELECT RAISE(ABORT, 'append-only: a mark of the box is never deleted'); END;
CREATE TRIGGER box_mark_follows_the_last BEFORE INSERT ON box_mark
            WHEN NEW.number IS NOT (SELECT COALESCE(MAX(number), 0) + 1 FROM box_mark)
            BEGIN SELECT RAISE(ABORT, 'append-only: a mark of the box follows the last one'); END;
COMMIT;
