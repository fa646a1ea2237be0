-- People at the pages: how they are let in, what they write, and how that reaches a box.
SET ROLE companion_owner;

-- What a person proves themselves by; the key signs what they sign, locked by the same password.
CREATE TABLE store.page_login (
    person integer PRIMARY KEY REFERENCES store.person,
    password_hash text NOT NULL,
    public_key text NOT NULL CHECK (public_key ~ '^[0-9a-f]{64}$'),
    locked_key jsonb NOT NULL,
    since timestamptz NOT NULL DEFAULT now(),
    failed integer NOT NULL DEFAULT 0,
    not_before timestamptz NOT NULL DEFAULT now()
);

-- A session is known by the hash of its token: whoever reads this table cannot go on with one.
CREATE TABLE store.page_session (
    token_sha256 store.hash PRIMARY KEY,
    person integer NOT NULL REFERENCES store.person,
    began timestamptz NOT NULL DEFAULT now(),
    last_used timestamptz NOT NULL DEFAULT now(),
    ended timestamptz
);
CREATE INDEX page_session_by_age ON store.page_session (began);

-- What people wrote that belongs into a box's record; `body` is the event's, whole and signed. The
-- box appends it as an event of its own, or says why not.
CREATE TABLE store.outgoing (
    number bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    site integer NOT NULL REFERENCES store.site,
    box integer NOT NULL REFERENCES store.box,
    job bigint NOT NULL REFERENCES store.job,
    job_id text NOT NULL,
    person integer NOT NULL REFERENCES store.person,
    made timestamptz NOT NULL DEFAULT now(),
    what text NOT NULL CHECK (what IN ('signed_off', 'amended')),
    body jsonb NOT NULL,
    head text NOT NULL,
    answered timestamptz,
    taken boolean,
    told text NOT NULL DEFAULT ''
);
CREATE INDEX outgoing_waiting ON store.outgoing (box, number) WHERE answered IS NULL;
CREATE INDEX outgoing_by_job ON store.outgoing (job);

CREATE TABLE store.comment (
    number bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    site integer NOT NULL REFERENCES store.site,
    job bigint NOT NULL REFERENCES store.job,
    person integer NOT NULL REFERENCES store.person,
    name text NOT NULL,
    made timestamptz NOT NULL DEFAULT now(),
    told text NOT NULL CHECK (char_length(told) BETWEEN 1 AND 2000)
);
CREATE INDEX comment_by_job ON store.comment (job, number);

ALTER TABLE store.page_login ENABLE ROW LEVEL SECURITY;
ALTER TABLE store.page_session ENABLE ROW LEVEL SECURITY;
DO $$
DECLARE
    kept name;
BEGIN
    FOREACH kept IN ARRAY ARRAY['outgoing', 'comment']::name[] LOOP
        EXECUTE format('ALTER TABLE store.%I ENABLE ROW LEVEL SECURITY', kept);
        EXECUTE format('CREATE POLICY of_my_sites ON store.%I FOR SELECT TO companion_supervisor '
            'USING (site = ANY ((SELECT store.my_sites())::integer[]))', kept);
        EXECUTE format('CREATE POLICY all_of_them ON store.%I FOR SELECT '
            'TO companion_auditor, companion_keeper USING (true)', kept);
        EXECUTE format('GRANT SELECT ON store.%I TO companion_supervisor, companion_auditor, '
            'companion_keeper', kept);
    END LOOP;
END
$$;

CREATE FUNCTION store.only_answered() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF OLD.answered IS NOT NULL OR (NEW.number, NEW.site, NEW.box, NEW.job, NEW.job_id, NEW.person,
        NEW.made, NEW.what, NEW.body, NEW.head) IS DISTINCT FROM (OLD.number, OLD.site, OLD.box,
        OLD.job, OLD.job_id, OLD.person, OLD.made, OLD.what, OLD.body, OLD.head) THEN
        RAISE EXCEPTION 'append-only: what somebody wrote is only answered, once'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER only_answered BEFORE UPDATE ON store.outgoing
    FOR EACH ROW EXECUTE FUNCTION store.only_answered();
CREATE TRIGGER never_changed BEFORE DELETE ON store.outgoing
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON store.comment
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_emptied BEFORE TRUNCATE ON store.outgoing
    FOR EACH STATEMENT EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_emptied BEFORE TRUNCATE ON store.comment
    FOR EACH STATEMENT EXECUTE FUNCTION store.never_changed();

-- For the program that shows pages. It is told a password's hash, never the rights of anybody.
CREATE FUNCTION store.page_person(called text, OUT person integer, OUT password_hash text,
    OUT waits_s double precision)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT p.person, l.password_hash,
        greatest(0, extract(epoch FROM l.not_before - now()))::double precision
    FROM store.person p JOIN store.page_login l USING (person)
    WHERE p.login = called AND p.left_us IS NULL
$$;

-- One more wrong password: from the fifth on each doubles the time until the next is looked at.
CREATE FUNCTION store.page_failed(called text) RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    UPDATE store.page_login SET failed = failed + 1, not_before = now() + make_interval(
        secs => CASE WHEN failed < 4 THEN 0 ELSE least(3600, power(2, least(failed, 20))) END)
    WHERE person = (SELECT p.person FROM store.person p WHERE p.login = called)
$$;

CREATE FUNCTION store.page_failed_by(who integer) RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT store.page_failed(p.login) FROM store.person p WHERE p.person = who
$$;

CREATE FUNCTION store.page_begin(who integer, token bytea) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    DELETE FROM store.page_session WHERE began < now() - interval '30 days';
    UPDATE store.page_login SET failed = 0, not_before = now() WHERE person = who;
    INSERT INTO store.page_session (token_sha256, person) VALUES (token, who);
END
$$;

-- Whose session that is; nobody's after half an hour without a request, or ten hours.
CREATE FUNCTION store.page_session_of(token bytea, OUT person integer, OUT name text,
    OUT role name, OUT kind text, OUT failed integer)
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    UPDATE store.page_session s SET last_used = now()
    FROM store.person p JOIN store.page_login l USING (person)
    WHERE s.token_sha256 = token AND s.ended IS NULL AND p.person = s.person AND p.left_us IS NULL
        AND s.last_used > now() - interval '30 minutes' AND s.began > now() - interval '10 hours'
        AND s.began >= l.since
    RETURNING p.person, p.name, p.role, p.kind, l.failed
$$;

CREATE FUNCTION store.page_end(token bytea) RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    UPDATE store.page_session SET ended = now() WHERE token_sha256 = token AND ended IS NULL
$$;

-- For a person at the pages: their own locked key.
CREATE FUNCTION store.my_key(OUT name text, OUT public_key text, OUT locked_key jsonb,
    OUT password_hash text, OUT waits_s double precision)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT p.name, l.public_key, l.locked_key, l.password_hash,
        greatest(0, extract(epoch FROM l.not_before - now()))::double precision
    FROM store.person p JOIN store.page_login l USING (person) WHERE p.person = store.my_person()
$$;

CREATE FUNCTION store.job_of_mine(wanted bigint) RETURNS store.job
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    seen store.job;
BEGIN
    SELECT * INTO seen FROM store.job j
    WHERE j.job = wanted AND j.site = ANY (store.my_sites());
    IF seen.job IS NULL THEN
        RAISE EXCEPTION 'there is no such job' USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN seen;
END
$$;

-- A sign-off or a correction for the box, by a supervisor alone, over the job as it stands.
CREATE FUNCTION store.send_to_box(wanted bigint, what text, body jsonb, seen_head text)
RETURNS bigint
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    seen store.job := store.job_of_mine(wanted);
    me store.person;
    made bigint;
BEGIN
    SELECT * INTO me FROM store.person p WHERE p.person = store.my_person();
    IF me.kind IS DISTINCT FROM 'supervisor' THEN
        RAISE EXCEPTION 'only a supervisor signs or corrects a job'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    IF body->>'by' IS DISTINCT FROM me.name OR body->'signature'->>'public_key' IS DISTINCT FROM
        (SELECT l.public_key FROM store.page_login l WHERE l.person = me.person) THEN
        RAISE EXCEPTION 'it is not signed by %', me.name USING ERRCODE = 'insufficient_privilege';
    END IF;
    IF encode(seen.head, 'hex') IS DISTINCT FROM seen_head THEN
        RAISE EXCEPTION 'the job went on meanwhile; look at it again'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    IF EXISTS (SELECT 1 FROM store.outgoing o WHERE o.job = seen.job AND o.answered IS NULL) THEN
        RAISE EXCEPTION 'something else for this job is on its way to the box; wait until it is there'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    IF pg_column_size(body) > 20000 THEN
        RAISE EXCEPTION 'that is too long' USING ERRCODE = 'insufficient_privilege';
    END IF;
    INSERT INTO store.outgoing (site, box, job, job_id, person, what, body, head)
    VALUES (seen.site, seen.box, seen.job, seen.id, me.person, what, body, seen_head)
    RETURNING number INTO made;
    RETURN made;
END
$$;

CREATE FUNCTION store.comment_on(wanted bigint, words text) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    seen store.job := store.job_of_mine(wanted);
BEGIN
    INSERT INTO store.comment (site, job, person, name, told)
    SELECT seen.site, seen.job, p.person, p.name, words
    FROM store.person p WHERE p.person = store.my_person() AND p.kind = 'supervisor';
    IF NOT FOUND THEN
        RAISE EXCEPTION 'only a supervisor comments on a job'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
END
$$;

-- For a box: what waits for it, and what became of it.
CREATE FUNCTION store.for_my_box()
RETURNS TABLE (number bigint, job_id text, what text, body text, head text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT o.number, o.job_id, o.what, o.body::text, o.head FROM store.outgoing o
    WHERE o.box = store.my_box() AND o.answered IS NULL ORDER BY o.number LIMIT 100
$$;
CREATE FUNCTION store.answer(wanted bigint, was_taken boolean, words text) RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    UPDATE store.outgoing SET answered = now(), taken = was_taken, told = left(words, 500)
    WHERE number = wanted AND box = store.my_box() AND answered IS NULL
$$;

GRANT EXECUTE ON FUNCTION store.page_person(text), store.page_failed(text), store.page_failed_by(integer),
    store.page_begin(integer, bytea), store.page_session_of(bytea), store.page_end(bytea)
    TO companion_pages;
GRANT EXECUTE ON FUNCTION store.my_key(), store.send_to_box(bigint, text, jsonb, text),
    store.comment_on(bigint, text) TO companion_supervisor, companion_auditor, companion_keeper;
GRANT EXECUTE ON FUNCTION store.for_my_box(), store.answer(bigint, boolean, text) TO companion_box;

RESET ROLE;
