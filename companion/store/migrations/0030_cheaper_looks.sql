-- What a batch is looked at by, at a third of the price: a pattern that counts its signs ("{64}")
-- takes the engine ten times as long as one that does not, and the length beside it.
SET ROLE companion_owner;

CREATE FUNCTION store.is_hex(told text, signs integer) RETURNS boolean
LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
    SELECT octet_length(told) = signs AND told ~ '^[0-9a-f]+$'
$$;
CREATE FUNCTION store.is_plain(told text, most integer) RETURNS boolean
LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
    SELECT octet_length(told) <= most AND told ~ '^[A-Za-z0-9._-]+$'
$$;

-- Why a batch is not taken: a kind and words; NULL where it is sound.
CREATE OR REPLACE FUNCTION store.why_not(mine store.box, OUT refused text, OUT words text)
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
    WHERE NOT coalesce(store.is_hex(public_key, 64) AND store.is_hex(head, 64)
        AND store.is_hex(previous, 64) AND store.is_hex(signature, 128) AND sequence >= 0
        AND what IN ('found', 'opened', 'written', 'sealed')
        AND (store.is_plain(job, 100) OR (what = 'sealed' AND job = '')), false)
    ORDER BY number LIMIT 1;
    IF FOUND THEN
        refused := 'unreadable'; words := format('mark %s is of no form that is known', bad.number);
        RETURN;
    END IF;
    SELECT number, link INTO bad FROM (
        SELECT number, previous, link,
            lag(link, 1, encode(mine.last_link, 'hex')) OVER (ORDER BY number) AS wanted
        FROM (SELECT number, previous, encode(sha256(store.statement(number,
            public_key, what, job, sequence, head, previous) || decode(signature, 'hex')), 'hex')
            AS link FROM incoming_mark i) AS linked
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
    WHERE NOT coalesce(store.is_plain(i.id, 100) AND i.opened_utc ~ '^[0-9TZtz:.+-]+$'
        AND octet_length(i.opened_utc) <= 40 AND j.job IS NULL, false) LIMIT 1;
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
    WHERE NOT coalesce(store.is_plain(e.kind, 64) AND store.is_hex(e.hash, 64)
        AND store.is_hex(e.previous, 64) AND e.clock_trusted IS NOT NULL
        AND e.monotonic_ns IS NOT NULL AND e.sequence >= 1
        AND store.is_plain(e.job, 100) AND json_typeof(e.body::json) = 'object'
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
        AND store.is_plain(job, 100), false)) THEN
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

-- The same of what is put in; what is there was looked at when it came.
ALTER DOMAIN store.kind DROP CONSTRAINT kind_check;
ALTER DOMAIN store.kind ADD CONSTRAINT kind_check
    CHECK (octet_length(VALUE) <= 64 AND VALUE ~ '^[A-Za-z0-9._-]+$') NOT VALID;

RESET ROLE;
