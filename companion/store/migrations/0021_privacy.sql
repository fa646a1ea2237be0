-- People as those whom something is kept about: technicians who ask who listened to them, names that
-- are replaced by pseudonyms, and how long each kind of data is kept.
DO $$
BEGIN
    IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'companion_technician') THEN
        CREATE ROLE companion_technician NOLOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE;
    END IF;
    EXECUTE format('GRANT CONNECT ON DATABASE %I TO companion_technician', current_database());
END
$$;

SET ROLE companion_owner;
GRANT USAGE ON SCHEMA store TO companion_technician;
ALTER TABLE store.person DROP CONSTRAINT person_kind_check;
ALTER TABLE store.person ADD CONSTRAINT person_kind_check
    CHECK (kind IN ('supervisor', 'auditor', 'keeper', 'technician'));

-- `name` is the mapping: while it stands, the same name is replaced in what comes later, too.
CREATE TABLE store.pseudonym (
    number integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    told text NOT NULL UNIQUE CHECK (told ~ '^person [0-9a-f]{8}$'),
    name text CHECK (char_length(name) BETWEEN 3 AND 200),
    made timestamptz NOT NULL DEFAULT now(),
    made_by name NOT NULL DEFAULT session_user,
    done_until timestamptz NOT NULL DEFAULT '-infinity'
);
CREATE UNIQUE INDEX pseudonym_of_name ON store.pseudonym (lower(name)) WHERE name IS NOT NULL;

-- An event in which a name was replaced. Its hash can no longer be made anew from the start; it can
-- from `midstate`: SHA-256 as it stood after `hidden` bytes, all that came up to the end of the body
-- and `skipped` bytes more. So its place in the chain stays proven, and what is told of it does not.
CREATE TABLE store.erasure (
    number bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    box integer NOT NULL REFERENCES store.box,
    site integer NOT NULL REFERENCES store.site,
    job bigint NOT NULL REFERENCES store.job,
    sequence integer NOT NULL,
    pseudonym integer NOT NULL REFERENCES store.pseudonym,
    midstate store.hash NOT NULL,
    hidden integer NOT NULL CHECK (hidden > 0 AND hidden % 64 = 0),
    skipped integer NOT NULL CHECK (skipped BETWEEN 0 AND 63),
    body_sha256 store.hash NOT NULL,
    made timestamptz NOT NULL DEFAULT now()
);
CREATE INDEX erasure_by_event ON store.erasure (job, sequence, number);

CREATE TABLE store.retention (
    kind text PRIMARY KEY CHECK (kind IN ('sound', 'listened', 'sessions', 'names')),
    days integer CHECK (days BETWEEN 1 AND 36500)
);
INSERT INTO store.retention VALUES ('sound', 365), ('listened', 1095), ('sessions', 30),
    ('names', NULL);

-- A name as it stands in canonical JSON, in any case, as words of their own; an escape before it is
-- no letter of a word, and no key is a name. A name of one word may be any word: of an event it is
-- looked for only where names stand.
CREATE FUNCTION store.name_pattern(person text, kind text) RETURNS text
LANGUAGE sql IMMUTABLE STRICT PARALLEL SAFE SET search_path = pg_catalog, pg_temp AS $$
    SELECT CASE
        WHEN kind = '' OR person ~ '[^[:space:]][[:space:]]+[^[:space:]]' THEN
            '(?:(?<![[:alnum:]_])|(?<=\\[bfnrt])|(?<=\\u[0-9a-f]{4}))' || quoted
            || '(?![[:alnum:]_])(?!":)'
        WHEN kind LIKE 'person%' OR kind LIKE 'pin%' THEN
            '(?<="(?:name|vouched_by)": ?")' || quoted || '(?=")'
        ELSE '(?<="(?:technician|by)": ?")' || quoted || '(?=")' END
    FROM (SELECT regexp_replace(
        regexp_replace(substring(json FROM 2 FOR length(json) - 2),
            '([^[:alnum:][:space:]])', '\\\1', 'g'), '[[:space:]]+', '[[:space:]]+', 'g') AS quoted
        FROM (SELECT to_json(btrim(person))::text AS json) AS written) AS told
$$;

-- The body with the name replaced. What nobody can guess goes with it (a salt, signatures), so that
-- nobody finds the name again by trying names until the event's hash comes out.
CREATE FUNCTION store.without_name(body text, kind text, person text, told text) RETURNS text
LANGUAGE plpgsql IMMUTABLE STRICT PARALLEL SAFE SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    cut text := regexp_replace(body, store.name_pattern(person, kind), told, 'gi');
BEGIN
    IF cut = body THEN
        RETURN body;
    END IF;
    IF kind = 'opened' THEN
        cut := regexp_replace(cut, '"name_salt":"[0-9a-f]*"', '"name_salt":""', 'g');
    ELSIF kind IN ('signed_off', 'amended', 'person_enrolled', 'person_removed', 'pin_changed') THEN
        cut := regexp_replace(cut, '("value": ?")[0-9a-f]{128}"',
            '\1' || repeat('0', 128) || '"', 'g');
    END IF;
    RETURN cut;
END
$$;

-- Of an event only names go, for a pseudonym that is known, and each time it is noted.
CREATE FUNCTION store.only_names_go() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (NEW.month, NEW.box, NEW.job, NEW.sequence, NEW.site, NEW.monotonic_ns, NEW.clock_trusted,
        NEW.kind, NEW.at_utc, NEW.hash) IS DISTINCT FROM (OLD.month, OLD.box, OLD.job, OLD.sequence,
        OLD.site, OLD.monotonic_ns, OLD.clock_trusted, OLD.kind, OLD.at_utc, OLD.hash)
        OR NOT EXISTS (SELECT 1 FROM store.pseudonym p WHERE p.name IS NOT NULL
            AND NEW.body = store.without_name(OLD.body, OLD.kind, p.name, p.told))
        OR NOT EXISTS (SELECT 1 FROM store.erasure e WHERE e.job = NEW.job
            AND e.sequence = NEW.sequence
            AND e.body_sha256 = sha256(convert_to(NEW.body, 'UTF8'))) THEN
        RAISE EXCEPTION 'append-only: of an event only a name is replaced'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END
$$;
DROP TRIGGER never_changed ON store.event;
CREATE TRIGGER never_changed BEFORE DELETE ON store.event
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER only_names_go BEFORE UPDATE ON store.event
    FOR EACH ROW EXECUTE FUNCTION store.only_names_go();

-- The same for comments, and for what somebody wrote for a box once it was answered.
CREATE FUNCTION store.only_its_names_go() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (NEW.number, NEW.site, NEW.job, NEW.person, NEW.made)
        IS DISTINCT FROM (OLD.number, OLD.site, OLD.job, OLD.person, OLD.made)
        OR NOT EXISTS (SELECT 1 FROM store.pseudonym p WHERE p.name IS NOT NULL
            AND NEW.name = store.without_name(OLD.name, '', p.name, p.told)
            AND NEW.told = store.without_name(OLD.told, '', p.name, p.told)) THEN
        RAISE EXCEPTION 'append-only: of a comment only a name is replaced'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END
$$;
DROP TRIGGER never_changed ON store.comment;
CREATE TRIGGER never_changed BEFORE DELETE ON store.comment
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER only_its_names_go BEFORE UPDATE ON store.comment
    FOR EACH ROW EXECUTE FUNCTION store.only_its_names_go();

CREATE OR REPLACE FUNCTION store.only_answered() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (NEW.number, NEW.site, NEW.box, NEW.job, NEW.job_id, NEW.person, NEW.made, NEW.what,
        NEW.head) IS DISTINCT FROM (OLD.number, OLD.site, OLD.box, OLD.job, OLD.job_id, OLD.person,
        OLD.made, OLD.what, OLD.head)
        OR (OLD.answered IS NULL AND NEW.body IS DISTINCT FROM OLD.body)
        OR (OLD.answered IS NOT NULL AND NOT ((NEW.answered, NEW.taken) IS NOT DISTINCT FROM
            (OLD.answered, OLD.taken) AND EXISTS (SELECT 1 FROM store.pseudonym p
            WHERE p.name IS NOT NULL
            AND NEW.body = store.without_name(OLD.body::text, OLD.what, p.name, p.told)::jsonb
            AND NEW.told = store.without_name(OLD.told, '', p.name, p.told)))) THEN
        RAISE EXCEPTION 'append-only: what somebody wrote is only answered, once'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END
$$;

-- A pseudonym stays; whose it is can be forgotten.
CREATE FUNCTION store.only_forgotten() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (NEW.number, NEW.told, NEW.made, NEW.made_by) IS DISTINCT FROM
        (OLD.number, OLD.told, OLD.made, OLD.made_by)
        OR (NEW.name IS NOT NULL AND NEW.name IS DISTINCT FROM OLD.name) THEN
        RAISE EXCEPTION 'append-only: of a pseudonym only the name is forgotten'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER only_forgotten BEFORE UPDATE ON store.pseudonym
    FOR EACH ROW EXECUTE FUNCTION store.only_forgotten();
CREATE TRIGGER never_changed BEFORE DELETE ON store.pseudonym
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_emptied BEFORE TRUNCATE ON store.pseudonym
    FOR EACH STATEMENT EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON store.erasure
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_emptied BEFORE TRUNCATE ON store.erasure
    FOR EACH STATEMENT EXECUTE FUNCTION store.never_changed();

-- Who listened is forgotten when its time is over, and not before.
CREATE FUNCTION store.only_after_its_time() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT coalesce((SELECT OLD.at < now() - make_interval(days => r.days)
        FROM store.retention r WHERE r.kind = 'listened'), false) THEN
        RAISE EXCEPTION 'append-only: who listened is kept for the agreed time'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN OLD;
END
$$;
CREATE TRIGGER only_after_its_time BEFORE DELETE ON store.access
    FOR EACH ROW EXECUTE FUNCTION store.only_after_its_time();

-- Whoever exports what is kept of somebody takes the sound with it, which is noted, too.
ALTER TABLE store.access ALTER COLUMN person DROP NOT NULL;
ALTER TABLE store.access ADD COLUMN exported_by name;
ALTER TABLE store.access ADD CHECK (person IS NOT NULL OR exported_by IS NOT NULL);

-- The names under which jobs of the person who asks are kept.
CREATE FUNCTION store.my_names() RETURNS text[]
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT ARRAY(
        SELECT lower(btrim(p.name)) FROM store.person p WHERE p.person = store.my_person()
        UNION ALL
        SELECT s.told FROM store.person p JOIN store.pseudonym s
            ON lower(s.name) = lower(btrim(p.name)) WHERE p.person = store.my_person())
$$;

-- Who heard sound of jobs under the name of the person who asks, at their own sites.
CREATE FUNCTION store.listened_to_me(most integer)
RETURNS TABLE (at timestamptz, by text, session_id text, event integer, bay text, opened_utc text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT a.at, coalesce(p.name, a.exported_by::text), r.session_id, s.sequence, r.bay,
        r.opened_utc
    FROM reading.job r JOIN store.access a USING (job) JOIN store.sound s USING (job, sha256)
    LEFT JOIN store.person p ON p.person = a.person
    WHERE lower(btrim(r.technician)) = ANY (store.my_names())
        AND (a.site = ANY (store.my_sites()) OR a.site IN (SELECT t.site FROM store.person_site t
            WHERE t.person = store.my_person()))
    ORDER BY a.number DESC LIMIT most
$$;

ALTER TABLE store.pseudonym ENABLE ROW LEVEL SECURITY;
CREATE POLICY keeps_them ON store.pseudonym FOR SELECT TO companion_keeper USING (true);
GRANT SELECT ON store.pseudonym TO companion_keeper;
ALTER TABLE store.erasure ENABLE ROW LEVEL SECURITY;
CREATE POLICY my_own ON store.erasure FOR SELECT TO companion_box
    USING (box = (SELECT store.my_box()));
CREATE POLICY of_my_sites ON store.erasure FOR SELECT TO companion_supervisor
    USING (site = ANY ((SELECT store.my_sites())::integer[]));
CREATE POLICY all_of_them ON store.erasure FOR SELECT TO companion_auditor, companion_keeper
    USING (true);
GRANT SELECT ON store.erasure TO companion_box, companion_supervisor, companion_auditor,
    companion_keeper;
GRANT SELECT ON store.retention TO companion_auditor, companion_keeper;
GRANT EXECUTE ON FUNCTION store.listened_to_me(integer) TO companion_supervisor, companion_auditor,
    companion_keeper, companion_technician;
GRANT EXECUTE ON FUNCTION store.my_person(), store.acting() TO companion_technician;

RESET ROLE;
