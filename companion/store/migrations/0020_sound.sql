-- Sound of answers, where a shop sends it: each clip under the hash that an event names it by, kept
-- for as long as the shop keeps sound, and heard through `store.listen` alone, which notes who did.
SET ROLE companion_owner;

-- Up to which mark of the box the sound was looked at.
ALTER TABLE store.box ADD COLUMN sound_mark bigint NOT NULL DEFAULT 0;

-- `recorded`: by when it was, at the latest: the first date of its job that something vouched for,
-- or when the job arrived, whichever is earlier. What was let go keeps its line, without the sound.
CREATE TABLE store.sound (
    job bigint NOT NULL REFERENCES store.job,
    sha256 store.hash NOT NULL,
    box integer NOT NULL REFERENCES store.box,
    site integer NOT NULL REFERENCES store.site,
    sequence integer NOT NULL,
    bytes integer NOT NULL,
    content bytea,
    recorded timestamptz NOT NULL,
    arrived timestamptz NOT NULL DEFAULT now(),
    gone timestamptz,
    gone_why text NOT NULL DEFAULT '',
    PRIMARY KEY (job, sha256),
    CHECK ((content IS NULL) = (gone IS NOT NULL))
);
-- It is packed already.
ALTER TABLE store.sound ALTER COLUMN content SET STORAGE EXTERNAL;
CREATE INDEX sound_by_age ON store.sound (recorded) WHERE gone IS NULL;

-- Who heard which clip; whose voice it is says the job.
CREATE TABLE store.access (
    number bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    at timestamptz NOT NULL DEFAULT now(),
    person integer NOT NULL REFERENCES store.person,
    site integer NOT NULL REFERENCES store.site,
    job bigint NOT NULL REFERENCES store.job,
    sha256 store.hash NOT NULL
);
CREATE INDEX access_by_job ON store.access (job);

CREATE FUNCTION store.only_let_go() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF OLD.gone IS NOT NULL OR NEW.content IS NOT NULL OR (NEW.job, NEW.sha256, NEW.box, NEW.site,
        NEW.sequence, NEW.bytes, NEW.recorded, NEW.arrived) IS DISTINCT FROM (OLD.job, OLD.sha256,
        OLD.box, OLD.site, OLD.sequence, OLD.bytes, OLD.recorded, OLD.arrived) THEN
        RAISE EXCEPTION 'append-only: sound is only let go' USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER only_let_go BEFORE UPDATE ON store.sound
    FOR EACH ROW EXECUTE FUNCTION store.only_let_go();
CREATE TRIGGER never_changed BEFORE DELETE ON store.sound
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_emptied BEFORE TRUNCATE ON store.sound
    FOR EACH STATEMENT EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE ON store.access
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_emptied BEFORE TRUNCATE ON store.access
    FOR EACH STATEMENT EXECUTE FUNCTION store.never_changed();

-- Whether the technician was told that sound goes here and agreed, before that event and to the
-- job's end. Of the bodies only those of two kinds are read.
CREATE FUNCTION store.sound_agreed(seen store.job, before integer) RETURNS boolean
LANGUAGE plpgsql STABLE SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    told boolean;
    first_yes integer;
    last_word text;
BEGIN
    SELECT coalesce(bool_or(e.body::json->>'sound_goes' = 'true'), false) INTO told
    FROM store.event e WHERE e.month = seen.month AND e.box = seen.box AND e.job = seen.job
        AND e.kind = 'opened';
    SELECT min(e.sequence) FILTER (WHERE e.body::json->>'keep_sound' = 'true'),
        (array_agg(e.body::json->>'keep_sound' ORDER BY e.sequence DESC))[1]
    INTO first_yes, last_word
    FROM store.event e WHERE e.month = seen.month AND e.box = seen.box AND e.job = seen.job
        AND e.kind = 'consent';
    RETURN coalesce(told AND last_word = 'true' AND first_yes < before, false);
END
$$;

-- Of these clips of a job, those that never came.
CREATE FUNCTION store.sound_lacking(of_job text, named text[]) RETURNS SETOF text
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT clip FROM unnest(named) AS clip WHERE NOT EXISTS (
        SELECT 1 FROM store.sound s JOIN store.job j USING (job)
        WHERE j.box = store.my_box() AND j.id = of_job AND encode(s.sha256, 'hex') = clip)
$$;

-- One clip, looked at: an event of the job names it by this hash, and the technician agreed.
CREATE FUNCTION store.put_sound(of_job text, named text, content bytea,
    OUT refused text, OUT words text)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    mine store.box := store.require_box();
    seen store.job;
    at_event integer;
    vouched timestamptz;
BEGIN
    SELECT * INTO seen FROM store.job j WHERE j.box = mine.box AND j.id = of_job;
    IF seen.job IS NULL OR NOT coalesce(named ~ '^[0-9a-f]{64}$', false) THEN
        words := 'a clip of a job that did not come, or of no proper name';
    ELSIF NOT coalesce(octet_length(content) BETWEEN 4 AND 16000000
        AND substring(content FOR 4) = 'fLaC', false) THEN
        words := format('clip %s of job %s is no sound, or too long', named, of_job);
    ELSIF encode(sha256(content), 'hex') <> named THEN
        words := format('clip %s of job %s is not what its name says: it was changed', named,
            of_job);
    ELSE
        SELECT min(e.sequence) INTO at_event FROM store.event e
        WHERE e.month = seen.month AND e.box = seen.box AND e.job = seen.job
            AND position('"clip_sha256":"' || named || '"' IN e.body) > 0;
        IF at_event IS NULL THEN
            words := format('no event of job %s names clip %s', of_job, named);
        ELSIF NOT store.sound_agreed(seen, at_event) THEN
            words := format('in job %s nobody agreed that its sound goes to the store', of_job);
        END IF;
    END IF;
    IF words IS NOT NULL THEN
        refused := 'sound';
        PERFORM store.refuse(mine.box, refused, words);
        RETURN;
    END IF;
    SELECT min(e.at_utc::timestamptz) INTO vouched FROM store.event e
    WHERE e.month = seen.month AND e.box = seen.box AND e.job = seen.job AND e.clock_trusted;
    INSERT INTO store.sound (job, sha256, box, site, sequence, bytes, content, recorded)
    VALUES (seen.job, decode(named, 'hex'), mine.box, seen.site, at_event, octet_length(content),
        content, least(vouched, seen.arrived))
    ON CONFLICT DO NOTHING;
END
$$;

-- The box looked at all its sound up to that mark, of those that the store took.
CREATE FUNCTION store.sound_up_to(mark bigint) RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    UPDATE store.box SET sound_mark = greatest(sound_mark, least(mark, last_mark))
    WHERE box = store.my_box()
$$;

-- A box that lets sound go, or a technician who takes the agreement back, is followed at once.
CREATE FUNCTION store.lets_sound_go() RETURNS trigger
LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    IF NEW.kind = 'clips_expired' THEN
        UPDATE store.sound s SET content = NULL, gone = now(), gone_why = 'the box let it go'
        WHERE s.box = NEW.box AND s.gone IS NULL
            AND position('"' || encode(s.sha256, 'hex') || '"' IN NEW.body) > 0;
    ELSIF NEW.body::json->>'keep_sound' IS DISTINCT FROM 'true' THEN
        UPDATE store.sound s SET content = NULL, gone = now(),
            gone_why = 'the agreement was taken back'
        WHERE s.job = NEW.job AND s.gone IS NULL;
    END IF;
    RETURN NULL;
END
$$;
CREATE TRIGGER lets_sound_go AFTER INSERT ON store.event
    FOR EACH ROW WHEN (NEW.kind IN ('clips_expired', 'consent'))
    EXECUTE FUNCTION store.lets_sound_go();

-- One clip to be heard, and the note of it in the same breath; NULL where there is none (any more).
CREATE FUNCTION store.listen(wanted bigint, named text) RETURNS bytea
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    seen store.job := store.job_of_mine(wanted);
    found bytea;
BEGIN
    SELECT s.content INTO found FROM store.sound s
    WHERE s.job = seen.job AND encode(s.sha256, 'hex') = named AND s.gone IS NULL;
    IF found IS NOT NULL THEN
        INSERT INTO store.access (person, site, job, sha256)
        VALUES (store.my_person(), seen.site, seen.job, decode(named, 'hex'));
    END IF;
    RETURN found;
END
$$;

-- Everything about a clip but the sound itself.
ALTER TABLE store.sound ENABLE ROW LEVEL SECURITY;
CREATE POLICY of_my_sites ON store.sound FOR SELECT TO companion_supervisor
    USING (site = ANY ((SELECT store.my_sites())::integer[]));
CREATE POLICY all_of_them ON store.sound FOR SELECT TO companion_auditor, companion_keeper
    USING (true);
GRANT SELECT (job, sha256, box, site, sequence, bytes, recorded, arrived, gone, gone_why)
    ON store.sound TO companion_supervisor, companion_auditor, companion_keeper;
ALTER TABLE store.access ENABLE ROW LEVEL SECURITY;
CREATE POLICY all_of_them ON store.access FOR SELECT TO companion_auditor, companion_keeper
    USING (true);
GRANT SELECT ON store.access TO companion_auditor, companion_keeper;

GRANT EXECUTE ON FUNCTION store.sound_lacking(text, text[]), store.put_sound(text, text, bytea),
    store.sound_up_to(bigint) TO companion_box;
GRANT EXECUTE ON FUNCTION store.listen(bigint, text) TO companion_supervisor, companion_auditor,
    companion_keeper;

RESET ROLE;
