-- What lists, searches and charts are quick by: made out of the events by `companion store index`,
-- and made anew from them at any time. It holds nothing that the events do not hold.
SET ROLE companion_owner;
CREATE SCHEMA reading;
RESET ROLE;

-- `companion_indexer` reads events and writes what is made of them. `companion_pages` shows pages:
-- it lets people in and then acts as each of them, with their rights and no others. It inherits
-- none of them: only what it is set to be counts.
DO $$
DECLARE
    wanted name;
BEGIN
    FOREACH wanted IN ARRAY ARRAY['companion_indexer', 'companion_pages']::name[] LOOP
        IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = wanted) THEN
            EXECUTE format('CREATE ROLE %I NOLOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOINHERIT',
                wanted);
        END IF;
    END LOOP;
    EXECUTE format('GRANT CONNECT ON DATABASE %I TO companion_indexer, companion_pages',
        current_database());
    FOR wanted IN SELECT role FROM store.person WHERE left_us IS NULL LOOP
        EXECUTE format('GRANT %I TO companion_pages', wanted);
    END LOOP;
END
$$;

SET ROLE companion_owner;
GRANT USAGE ON SCHEMA store TO companion_indexer, companion_pages;
GRANT USAGE ON SCHEMA reading TO companion_indexer, companion_supervisor, companion_auditor,
    companion_keeper;

-- One job in one line, as `companion.archive.digest` folds it. `bay` is told with its site.
-- `moment` is when it was opened, or when it arrived where that is earlier: no date of a box keeps
-- its job on top of every list.
CREATE TABLE reading.job (
    job bigint PRIMARY KEY,
    session_id text NOT NULL UNIQUE,
    site integer NOT NULL,
    box integer NOT NULL,
    moment timestamptz NOT NULL,
    opened_utc text NOT NULL,
    last_utc text NOT NULL,
    event_count integer NOT NULL,
    head_hash text NOT NULL,
    technician text NOT NULL,
    vehicle text NOT NULL,
    bay text NOT NULL,
    shop text NOT NULL,
    job_name text NOT NULL,
    result text NOT NULL,
    is_example boolean NOT NULL,
    is_rehearsal boolean NOT NULL,
    clock_trusted boolean NOT NULL,
    readings integer NOT NULL,
    refusals integer NOT NULL,
    notes integer NOT NULL,
    corrections integer NOT NULL,
    signatures integer NOT NULL,
    unreadable integer NOT NULL,
    stage text NOT NULL,
    stopped_why text NOT NULL,
    doubts integer NOT NULL,
    taken_back integer NOT NULL,
    odd_moves integer NOT NULL,
    resumed integer NOT NULL,
    visit text NOT NULL
);
CREATE INDEX job_by_moment ON reading.job (moment DESC, job DESC);
CREATE INDEX job_by_site ON reading.job (site, moment DESC, job DESC);
CREATE INDEX job_by_bay ON reading.job (bay, moment DESC);
CREATE INDEX job_by_technician ON reading.job (technician, moment DESC, job DESC);
CREATE INDEX job_by_vehicle ON reading.job (vehicle, moment DESC, job DESC);
CREATE INDEX job_by_result ON reading.job (result, moment DESC, job DESC);
CREATE INDEX job_by_stood_out ON reading.job
    ((doubts + taken_back + odd_moves + notes + unreadable) DESC, moment DESC, job DESC);
CREATE INDEX job_by_refusals ON reading.job (refusals DESC, moment DESC, job DESC);
CREATE INDEX job_unsigned ON reading.job (moment DESC, job DESC)
    WHERE signatures = 0 AND result <> 'broken_off' AND NOT is_rehearsal;
CREATE INDEX job_broken_off ON reading.job (moment DESC, job DESC)
    WHERE result = 'broken_off' AND NOT is_rehearsal;
CREATE INDEX job_stood_out ON reading.job (moment DESC, job DESC)
    WHERE doubts + taken_back + odd_moves + notes + unreadable > 0 AND NOT is_rehearsal;

-- The words of a job, each once, with a letter before it that says whose: s the companion's, h the
-- technician's, n what was kept. Figures that were said one after the other stand here as a number.
CREATE TABLE reading.words (
    job bigint PRIMARY KEY,
    site integer NOT NULL,
    moment timestamptz NOT NULL,
    words tsvector NOT NULL
);
CREATE INDEX words_found ON reading.words USING gin (words);
CREATE INDEX words_by_moment ON reading.words (moment DESC, job DESC);

-- What one job adds to the figures (`companion.statistics.summary`).
CREATE TABLE reading.summary (
    job bigint PRIMARY KEY,
    site integer NOT NULL,
    bay text NOT NULL,
    technician text NOT NULL,
    moment timestamptz NOT NULL,
    opened_utc text NOT NULL,
    session_id text NOT NULL,
    measures jsonb NOT NULL,
    stages jsonb NOT NULL,
    heard jsonb NOT NULL
);
CREATE INDEX summary_by_bay ON reading.summary (bay, moment DESC, job DESC);
CREATE INDEX summary_by_site ON reading.summary (site, moment DESC, job DESC);

-- Whether what should stay the same did: verdicts over all charts of one site together.
CREATE TABLE reading.part (
    site integer NOT NULL,
    bay text NOT NULL,
    part text NOT NULL,
    state text NOT NULL,
    sessions integer NOT NULL,
    latest_utc text NOT NULL,
    changes jsonb NOT NULL,
    PRIMARY KEY (bay, part, site)
);
CREATE TABLE reading.chart (
    site integer NOT NULL,
    bay text NOT NULL,
    measure text NOT NULL,
    chart jsonb NOT NULL,
    PRIMARY KEY (bay, measure, site)
);

-- The names that occur, for somebody to choose from.
CREATE TABLE reading.name (
    site integer NOT NULL,
    what text NOT NULL,
    name text NOT NULL,
    PRIMARY KEY (what, name, site)
);

DO $$
DECLARE
    kept name;
BEGIN
    FOREACH kept IN ARRAY ARRAY['job', 'words', 'summary', 'part', 'chart', 'name']::name[]
    LOOP
        EXECUTE format('ALTER TABLE reading.%I ENABLE ROW LEVEL SECURITY', kept);
        EXECUTE format('CREATE POLICY of_my_sites ON reading.%I FOR SELECT TO companion_supervisor '
            'USING (site = ANY ((SELECT store.my_sites())::integer[]))', kept);
        EXECUTE format('CREATE POLICY all_of_them ON reading.%I FOR SELECT '
            'TO companion_auditor, companion_keeper USING (true)', kept);
        EXECUTE format('CREATE POLICY makes_them ON reading.%I FOR ALL TO companion_indexer '
            'USING (true) WITH CHECK (true)', kept);
        EXECUTE format('GRANT SELECT ON reading.%I TO companion_supervisor, companion_auditor, '
            'companion_keeper', kept);
        EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON reading.%I TO companion_indexer',
            kept);
    END LOOP;
    FOREACH kept IN ARRAY ARRAY['job', 'event', 'box', 'site']::name[] LOOP
        EXECUTE format('CREATE POLICY indexes_them ON store.%I FOR SELECT TO companion_indexer '
            'USING (true)', kept);
        EXECUTE format('GRANT SELECT ON store.%I TO companion_indexer', kept);
    END LOOP;
END
$$;

-- The jobs that hold the words, the newest first. Here and not in a query of a person's own: row
-- security lets no index of words be used before it has looked at every row. What it would do is
-- done here, by the same `my_sites`.
CREATE FUNCTION store.jobs_with(wanted tsquery, before timestamptz, before_job bigint, most integer)
RETURNS TABLE (job bigint, moment timestamptz)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT w.job, w.moment FROM reading.words w
    WHERE w.words @@ wanted AND w.site = ANY (store.my_sites())
        AND (w.moment, w.job) < (before, before_job)
    ORDER BY w.moment DESC, w.job DESC LIMIT most
$$;

GRANT EXECUTE ON FUNCTION store.jobs_with(tsquery, timestamptz, bigint, integer)
    TO companion_supervisor, companion_auditor, companion_keeper;

RESET ROLE;
