-- How the store takes what a box sends. A box copies a batch into temporary tables that the store
-- makes for it and owns, then has the store look at it: it goes in whole or not at all, and what is
-- not taken is noted with its reason. Nothing else can write an event.
SET ROLE companion_owner;

-- Who acts: within a function of the store, current_user is the store's own.
CREATE FUNCTION store.acting() RETURNS name LANGUAGE sql STABLE AS $$
    SELECT CASE current_setting('role') WHEN 'none' THEN session_user
        ELSE current_setting('role')::name END
$$;

CREATE FUNCTION store.my_box() RETURNS integer
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT box FROM store.box WHERE role = store.acting() AND retired IS NULL
$$;

CREATE FUNCTION store.require_box() RETURNS store.box
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    mine store.box;
BEGIN
    SELECT * INTO mine FROM store.box WHERE role = store.acting() AND retired IS NULL FOR UPDATE;
    IF mine.box IS NULL THEN
        RAISE EXCEPTION 'the store knows no box that logs in as %', store.acting()
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN mine;
END
$$;

CREATE FUNCTION store.refuse(refused integer, why text, words text) RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    INSERT INTO store.refusal (box, what, told) VALUES (refused, why, left(words, 2000))
    ON CONFLICT (box, what) DO UPDATE
    SET told = excluded.told, last = now(), times = store.refusal.times + 1
$$;

-- Where the store is, for a box that asks what to send.
CREATE FUNCTION store.place(OUT name text, OUT last_mark bigint, OUT last_link bytea,
    OUT sealed integer)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    mine store.box := store.require_box();
BEGIN
    UPDATE store.box SET last_seen = now() WHERE box.box = mine.box;
    name := mine.name; last_mark := mine.last_mark; last_link := mine.last_link;
    sealed := mine.sealed;
END
$$;

-- What the box says of itself, and whether its record still is the one that was sent: `own_last` is
-- its last mark, `own_link` the link of its mark at the store's last one, NULL where it has none.
CREATE FUNCTION store.say(own_last bigint, own_link bytea, of_itself jsonb,
    OUT refused text, OUT words text)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    mine store.box := store.require_box();
BEGIN
    IF pg_column_size(of_itself) > 10000 THEN
        refused := 'unreadable'; words := 'what the box says of itself is too long';
    ELSIF own_last < mine.last_mark OR (own_link IS NULL AND mine.last_mark > 0) THEN
        refused := 'older';
        words := format('the record ends at mark %s of the box, and the store has marks up to %s: '
            'its end was dropped or an older file was put in its place', own_last, mine.last_mark);
    ELSIF mine.last_mark > 0 AND own_link IS DISTINCT FROM mine.last_link THEN
        refused := 'fork';
        words := format('mark %s of the box is another one in this record than the store took: '
            'the record was rewritten, or is another one', mine.last_mark);
    END IF;
    IF refused IS NOT NULL THEN
        PERFORM store.refuse(mine.box, refused, words);
    END IF;
    UPDATE store.box SET last_seen = now(),
        told = CASE WHEN refused = 'unreadable' THEN told ELSE of_itself END
    WHERE box.box = mine.box;
END
$$;

-- The tables of this connection that a batch is copied into; the store owns them.
CREATE FUNCTION store.begin_batch() RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    PERFORM store.require_box();
    IF to_regclass('pg_temp.incoming_event') IS NOT NULL THEN
        RETURN;
    END IF;
    CREATE TEMPORARY TABLE incoming_job (id text, opened_utc text) ON COMMIT DELETE ROWS;
    CREATE TEMPORARY TABLE incoming_mark (
        number bigint, public_key text, what text, job text, sequence integer, head text,
        previous text, signature text
    ) ON COMMIT DELETE ROWS;
    CREATE TEMPORARY TABLE incoming_event (
        mark bigint, job text, sequence integer, kind text, at_utc text, monotonic_ns bigint,
        clock_trusted boolean, body text, previous text, hash text
    ) ON COMMIT DELETE ROWS;
    CREATE TEMPORARY TABLE incoming_sealed (number integer, job text, sequence integer)
        ON COMMIT DELETE ROWS;
    EXECUTE format('GRANT INSERT ON pg_temp.incoming_job, pg_temp.incoming_mark, '
        'pg_temp.incoming_event, pg_temp.incoming_sealed TO %I', store.acting());
END
$$;

CREATE FUNCTION store.require_own_tables() RETURNS void
LANGUAGE plpgsql STABLE SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    IF (SELECT count(*) FROM pg_class
        WHERE relnamespace = pg_my_temp_schema() AND relkind = 'r'
            AND relowner = 'companion_owner'::regrole AND NOT relhastriggers AND NOT relhasrules
            AND relname IN ('incoming_job', 'incoming_mark', 'incoming_event', 'incoming_sealed')
        ) <> 4 THEN
        RAISE EXCEPTION 'the tables of the batch are not the store''s own'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
END
$$;

-- Why a batch is not taken: a kind and words; NULL where it is sound.
CREATE FUNCTION store.why_not(mine store.box, OUT refused text, OUT words text)
LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    tolerance CONSTANT interval := interval '60 seconds';
    bad record;
    stranger record;
BEGIN
    -- The marks: one after the other, chained, from where the store is.
    SELECT min(number) AS first, max(number) AS last, count(*) AS many,
        count(DISTINCT number) AS different INTO bad FROM incoming_mark;
    IF bad.many = 0 THEN
        refused := 'unreadable'; words := 'a batch without a mark of the box'; RETURN;
    END IF;
    IF bad.last <= mine.last_mark THEN
        SELECT i.number INTO stranger FROM incoming_mark i JOIN store.mark m
            ON m.box = mine.box AND m.number = i.number
            WHERE encode(m.signature, 'hex') IS DISTINCT FROM i.signature LIMIT 1;
        IF FOUND THEN
            refused := 'fork';
            words := format('mark %s is another one than the store took', stranger.number);
        ELSE
            refused := 'again'; words := format('the store is at mark %s already', mine.last_mark);
        END IF;
        RETURN;
    END IF;
    IF bad.first IS DISTINCT FROM mine.last_mark + 1 OR bad.many <> bad.different
        OR bad.last - bad.first + 1 <> bad.many THEN
        refused := 'gap';
        words := format('marks %s to %s do not follow mark %s, or some are missing',
            bad.first, bad.last, mine.last_mark);
        RETURN;
    END IF;
    SELECT number INTO bad FROM incoming_mark
    WHERE NOT coalesce(public_key ~ '^[0-9a-f]{64}$' AND head ~ '^[0-9a-f]{64}$'
        AND previous ~ '^[0-9a-f]{64}$' AND signature ~ '^[0-9a-f]{128}$' AND sequence >= 0
        AND what IN ('found', 'opened', 'written', 'sealed')
        AND (job ~ '^[A-Za-z0-9._-]{1,100}$' OR (what = 'sealed' AND job = '')), false)
    ORDER BY number LIMIT 1;
    IF FOUND THEN
        refused := 'unreadable'; words := format('mark %s is of no form that is known', bad.number);
        RETURN;
    END IF;
    SELECT number, link INTO bad FROM (
        SELECT number, previous, link,
            lag(link, 1, encode(mine.last_link, 'hex')) OVER (ORDER BY number) AS wanted
        FROM (SELECT number, previous, encode(sha256(store.statement(number,
            public_key, what, job, sequence, head, previous) || decode(signature, 'hex')), 'hex') AS link FROM incoming_mark i) AS linked
    ) AS chained WHERE previous <> wanted ORDER BY number LIMIT 1;
    IF FOUND THEN
        refused := 'fork';
        words := format('mark %s does not follow on what the store took before', bad.number);
        RETURN;
    END IF;
    -- Each run of marks of one key ends with a signature that stands for the run.
    SELECT i.number, i.public_key INTO bad FROM incoming_mark i
    WHERE NOT EXISTS (SELECT 1 FROM store.box_key k
        WHERE k.box = mine.box AND encode(k.public_key, 'hex') = i.public_key)
    ORDER BY number LIMIT 1;
    IF FOUND THEN
        refused := 'signature';
        words := format('mark %s is by the key %s…, which is not this box''s', bad.number,
            left(bad.public_key, 16));
        RETURN;
    END IF;
    FOR bad IN SELECT * FROM (
        SELECT i.*, lead(i.public_key) OVER (ORDER BY i.number) AS next_key
        FROM incoming_mark i) AS runs
        WHERE next_key IS DISTINCT FROM public_key ORDER BY number
    LOOP
        IF NOT store.is_signature(decode(bad.public_key, 'hex'), decode(bad.signature, 'hex'),
            store.statement(bad.number, bad.public_key, bad.what, bad.job, bad.sequence, bad.head,
                bad.previous)) THEN
            refused := 'signature';
            words := format('mark %s was not signed with the key that it names', bad.number);
            RETURN;
        END IF;
    END LOOP;

    -- The jobs that begin here.
    SELECT i.id INTO bad FROM incoming_job i
    LEFT JOIN store.job j ON j.box = mine.box AND j.id = i.id
    WHERE NOT coalesce(i.id ~ '^[A-Za-z0-9._-]{1,100}$'
        AND i.opened_utc ~ '^[0-9TZtz:.+-]{1,40}$' AND j.job IS NULL, false) LIMIT 1;
    IF FOUND THEN
        refused := 'fork'; words := format('job %s begins a second time, or has no proper name',
            left(bad.id, 100));
        RETURN;
    END IF;
    IF (SELECT count(*) <> count(DISTINCT id) FROM incoming_job) THEN
        refused := 'fork'; words := 'a job begins twice'; RETURN;
    END IF;

    -- The events: by jobs without a gap, chained, each of the bytes that its hash was made of.
    SELECT e.job, e.sequence INTO bad FROM incoming_event e
    WHERE NOT coalesce(e.kind ~ '^[A-Za-z0-9._-]{1,64}$' AND e.hash ~ '^[0-9a-f]{64}$'
        AND e.previous ~ '^[0-9a-f]{64}$' AND e.clock_trusted IS NOT NULL
        AND e.monotonic_ns IS NOT NULL AND e.sequence >= 1
        AND e.job ~ '^[A-Za-z0-9._-]{1,100}$' AND json_typeof(e.body::json) = 'object'
        AND e.at_utc ~ '^\d{4}-\d\d-\d\d[Tt]\d\d:\d\d:\d\d(\.\d+)?([Zz]|[+-]\d\d:\d\d)$'
        AND isfinite(e.at_utc::timestamptz), false) LIMIT 1;
    IF FOUND THEN
        refused := 'unreadable'; words := format('event %s of job %s is of no form that is known',
            bad.sequence, left(bad.job, 100));
        RETURN;
    END IF;
    SELECT e.job, e.sequence INTO bad FROM incoming_event e
    WHERE e.hash <> encode(sha256(convert_to('{"at":"' || e.at_utc || '","body":' || e.body
        || ',"clock_trusted":' || CASE WHEN e.clock_trusted THEN 'true' ELSE 'false' END
        || ',"kind":"' || e.kind || '","monotonic":"' || e.monotonic_ns || '","previous":"'
        || e.previous || '","seq":' || e.sequence || ',"session":"' || e.job || '"}', 'UTF8')),
        'hex')
    ORDER BY e.mark, e.sequence LIMIT 1;
    IF FOUND THEN
        refused := 'changed';
        words := format('event %s of job %s is not what its hash was made of', bad.sequence, bad.job);
        RETURN;
    END IF;
    SELECT job, sequence, wanted, previous, head, known INTO bad FROM (
        SELECT e.job, e.sequence, e.previous, j.job IS NOT NULL OR i.id IS NOT NULL AS known,
            lag(e.sequence, 1, coalesce(j.last_seq, 0)) OVER job_order + 1 AS wanted,
            lag(e.hash, 1, coalesce(encode(j.head, 'hex'), store.opening_hash(i.id, i.opened_utc)))
                OVER job_order AS head
        FROM incoming_event e
        LEFT JOIN store.job j ON j.box = mine.box AND j.id = e.job
        LEFT JOIN incoming_job i ON i.id = e.job
        WINDOW job_order AS (PARTITION BY e.job ORDER BY e.sequence)
    ) AS ordered WHERE NOT known OR sequence <> wanted OR previous <> head
    ORDER BY job, sequence LIMIT 1;
    IF FOUND THEN
        IF bad.known AND bad.sequence = bad.wanted THEN
            refused := 'fork';
            words := format('event %s of job %s does not follow on what the store took before',
                bad.sequence, bad.job);
        ELSE
            refused := 'gap';
            words := format('event %s of job %s is missing, or comes twice', bad.wanted, bad.job);
        END IF;
        RETURN;
    END IF;

    -- Each event is under the first mark of its job that reaches it, and no event is under none.
    SELECT e.job, e.sequence INTO bad FROM incoming_event e
    LEFT JOIN (
        SELECT i.number, i.job, i.sequence, lag(i.sequence, 1, coalesce(j.last_seq, 0))
            OVER (PARTITION BY i.job ORDER BY i.number) AS after
        FROM incoming_mark i LEFT JOIN store.job j ON j.box = mine.box AND j.id = i.job
        WHERE i.what <> 'sealed'
    ) AS m ON m.number = e.mark AND m.job = e.job
    WHERE m.number IS NULL OR e.sequence > m.sequence OR e.sequence <= m.after LIMIT 1;
    IF FOUND THEN
        refused := 'signature';
        words := format('event %s of job %s is not under the mark that signed it', bad.sequence,
            bad.job);
        RETURN;
    END IF;
    -- What each mark says of its job is so.
    SELECT m.number, m.job, m.sequence INTO bad FROM incoming_mark m
    LEFT JOIN incoming_event e ON e.job = m.job AND e.sequence = m.sequence
    LEFT JOIN incoming_job i ON i.id = m.job
    LEFT JOIN store.job j ON j.box = mine.box AND j.id = m.job
    LEFT JOIN store.event old ON e.job IS NULL AND old.month = j.month AND old.box = mine.box
        AND old.job = j.job AND old.sequence = m.sequence
    WHERE m.what <> 'sealed' AND m.head IS DISTINCT FROM CASE
        WHEN m.sequence = 0 THEN
            coalesce(store.opening_hash(i.id, i.opened_utc), encode(j.opening_hash, 'hex'))
        ELSE coalesce(e.hash, encode(old.hash, 'hex')) END
    ORDER BY m.number LIMIT 1;
    IF FOUND THEN
        refused := 'changed';
        words := format('mark %s signed another event %s of job %s than came with it', bad.number,
            bad.sequence, bad.job);
        RETURN;
    END IF;
    SELECT i.id INTO bad FROM incoming_job i
    WHERE NOT EXISTS (SELECT 1 FROM incoming_mark m WHERE m.job = i.id) LIMIT 1;
    IF FOUND THEN
        refused := 'signature'; words := format('no mark opened job %s', bad.id); RETURN;
    END IF;

    -- The heads under the box's own seals.
    SELECT count(*) AS many, min(number) AS first, max(number) AS last,
        count(DISTINCT number) AS different INTO bad FROM incoming_sealed;
    IF bad.many > 0 AND (bad.first <> mine.sealed + 1 OR bad.last - bad.first + 1 <> bad.many
        OR bad.many <> bad.different) THEN
        refused := 'gap'; words := 'sealed heads are missing or come twice'; RETURN;
    END IF;
    IF mine.sealed + bad.many <>
        coalesce((SELECT max(sequence) FROM incoming_mark WHERE what = 'sealed'), mine.sealed) THEN
        refused := 'gap'; words := 'a seal came without the heads that it is over'; RETURN;
    END IF;
    IF EXISTS (SELECT 1 FROM incoming_sealed WHERE NOT coalesce(sequence >= 0
        AND job ~ '^[A-Za-z0-9._-]{1,100}$', false)) THEN
        refused := 'unreadable'; words := 'a sealed head is of no form that is known'; RETURN;
    END IF;

    -- Where something vouched for two dates, no less time went by between them than the clock that
    -- never steps counted, and none back: it begins anew at nought with the computer.
    IF mine.excused_mark IS DISTINCT FROM mine.last_mark THEN
        SELECT job, sequence, moment, before INTO bad FROM (
            SELECT e.job, e.sequence, e.mark, e.at_utc::timestamptz AS moment,
                lag(e.at_utc::timestamptz, 1, mine.last_trusted) OVER box_order AS before,
                e.monotonic_ns - lag(e.monotonic_ns, 1, mine.last_monotonic_ns) OVER box_order
                    AS went_ns
            FROM incoming_event e JOIN incoming_mark m ON m.number = e.mark
            WHERE e.clock_trusted AND m.what = 'written'
            WINDOW box_order AS (ORDER BY e.mark, e.sequence)
        ) AS dated
        WHERE moment > now() + interval '10 minutes' OR moment - before <
            make_interval(secs => greatest(went_ns, 0) / 1e9 * 0.999) - tolerance
        ORDER BY mark, sequence LIMIT 1;
        IF FOUND THEN
            refused := 'clock';
            words := format('event %s of job %s is dated %s, which cannot be: the event before it '
                'is dated %s, it is now %s, and something vouched for each; set the clock right, '
                'and have the keeper of the store excuse it', bad.sequence, bad.job,
                bad.moment AT TIME ZONE 'UTC', bad.before AT TIME ZONE 'UTC',
                date_trunc('second', now() AT TIME ZONE 'UTC'));
            RETURN;
        END IF;
    END IF;
END
$$;

CREATE FUNCTION store.opening_hash(id text, opened_utc text) RETURNS text
LANGUAGE sql IMMUTABLE STRICT PARALLEL SAFE AS $$
    SELECT encode(sha256(convert_to(
        '{"opened":"' || opened_utc || '","session":"' || id || '"}', 'UTF8')), 'hex')
$$;

-- What a mark's signature is made over (`companion.record.box`).
CREATE FUNCTION store.statement(number bigint, public_key text, what text, job text,
    sequence integer, head text, previous text) RETURNS bytea
LANGUAGE sql IMMUTABLE STRICT PARALLEL SAFE AS $$
    SELECT convert_to(E'bay-companion mark 1\n' || number || E'\n' || public_key || E'\n' || what
        || E'\n' || sequence || E'\n' || head || E'\n' || previous || E'\n"' || job || '"', 'UTF8')
$$;

-- What a batch adds, once it was looked at.
CREATE FUNCTION store.put_in(mine store.box) RETURNS bigint
LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    this_month date := date_trunc('month', now() AT TIME ZONE 'UTC')::date;
    added bigint;
    last record;
    dated record;
BEGIN
    IF EXISTS (SELECT 1 FROM incoming_job) THEN
        PERFORM store.make_month(this_month);
        INSERT INTO store.job (box, site, id, opened_utc, opening_hash, month, head)
        SELECT mine.box, mine.site, i.id, i.opened_utc,
            decode(store.opening_hash(i.id, i.opened_utc), 'hex'), this_month,
            decode(store.opening_hash(i.id, i.opened_utc), 'hex')
        FROM incoming_job i JOIN (SELECT job, min(number) AS first FROM incoming_mark GROUP BY job)
            AS begun ON begun.job = i.id
        ORDER BY begun.first;
    END IF;
    INSERT INTO store.event (month, box, job, sequence, site, monotonic_ns, clock_trusted, kind,
        at_utc, hash, body)
    SELECT j.month, mine.box, j.job, e.sequence, j.site, e.monotonic_ns, e.clock_trusted, e.kind,
        e.at_utc, decode(e.hash, 'hex'), e.body
    FROM incoming_event e JOIN store.job j ON j.box = mine.box AND j.id = e.job
    ORDER BY j.job, e.sequence;
    GET DIAGNOSTICS added = ROW_COUNT;
    UPDATE store.job j SET last_seq = grown.last_seq, head = grown.head
    FROM (SELECT DISTINCT ON (job) job, sequence AS last_seq, decode(hash, 'hex') AS head
        FROM incoming_event ORDER BY job, sequence DESC) AS grown
    WHERE j.box = mine.box AND j.id = grown.job;
    INSERT INTO store.mark (box, number, public_key, what, job_id, sequence, head, previous,
        signature)
    SELECT mine.box, number, decode(public_key, 'hex'), what, job, sequence, decode(head, 'hex'),
        decode(previous, 'hex'), decode(signature, 'hex')
    FROM (SELECT *, row_number() OVER (PARTITION BY job ORDER BY number DESC) AS back
        FROM incoming_mark) AS ranked
    WHERE back = 1 OR what IN ('found', 'sealed')
    ORDER BY number;
    INSERT INTO store.sealed_head SELECT mine.box, number, job, sequence FROM incoming_sealed;
    SELECT i.number, sha256(store.statement(number, public_key, what, job, sequence, head,
        previous) || decode(signature, 'hex')) AS link INTO last
    FROM incoming_mark i ORDER BY i.number DESC LIMIT 1;
    SELECT e.at_utc::timestamptz AS moment, e.monotonic_ns INTO dated
    FROM incoming_event e JOIN incoming_mark m ON m.number = e.mark
    WHERE e.clock_trusted AND m.what = 'written' ORDER BY e.mark DESC, e.sequence DESC LIMIT 1;
    UPDATE store.box SET last_mark = last.number, last_link = last.link,
        last_trusted = coalesce(dated.moment, last_trusted),
        last_monotonic_ns = coalesce(dated.monotonic_ns, last_monotonic_ns),
        sealed = sealed + (SELECT count(*) FROM incoming_sealed),
        last_seen = now(), last_taken = now()
    WHERE box = mine.box;
    RETURN added;
END
$$;

-- Looks at the batch of this transaction and takes it, or says why not.
CREATE FUNCTION store.take(OUT refused text, OUT words text, OUT added bigint)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    mine store.box := store.require_box();
BEGIN
    PERFORM store.require_own_tables();
    added := 0;
    BEGIN
        SELECT verdict.refused, verdict.words INTO refused, words
        FROM store.why_not(mine) AS verdict;
        IF refused IS NULL THEN
            added := store.put_in(mine);
        END IF;
    EXCEPTION WHEN data_exception OR integrity_constraint_violation THEN
        refused := 'unreadable';
        words := 'the batch holds what no record of a box can hold: ' || SQLERRM;
    END;
    IF refused IS NOT NULL AND refused <> 'again' THEN
        PERFORM store.refuse(mine.box, refused, words);
    END IF;
    IF refused IS NULL THEN
        PERFORM pg_notify('companion_store', mine.box::text);
    END IF;
END
$$;

RESET ROLE;
