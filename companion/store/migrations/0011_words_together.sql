-- The index of words knows which words stand in one event: the place of a word is its event's. Beside
-- it stand the texts themselves, so that a search looks at them and not at whole events.
SET ROLE companion_owner;

ALTER TABLE reading.words ADD COLUMN told text COMPRESSION lz4 NOT NULL DEFAULT '[]';

DROP FUNCTION store.jobs_with(tsquery, timestamptz, bigint, integer);

-- The jobs that hold every word, the newest first, and of them those with the words `together`. Here
-- and not in a query of a person's own: row security lets no index of words be used before it has
-- looked at every row. What it would do is done here, by the same `my_sites`. Of jobs that hold the
-- words, and never together, so many are looked at and no more.
CREATE FUNCTION store.jobs_with(every tsquery, together tsquery, before timestamptz,
    before_job bigint, most integer)
RETURNS TABLE (job bigint, moment timestamptz)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT c.job, c.moment FROM (
        SELECT w.job, w.moment, w.words FROM reading.words w
        WHERE w.words @@ every AND w.site = ANY ((SELECT store.my_sites())::integer[])
            AND (w.moment, w.job) < (before, before_job)
        ORDER BY w.moment DESC, w.job DESC LIMIT 4000
    ) AS c
    WHERE c.words @@ together
    ORDER BY c.moment DESC, c.job DESC LIMIT most
$$;
GRANT EXECUTE ON FUNCTION store.jobs_with(tsquery, tsquery, timestamptz, bigint, integer)
    TO companion_supervisor, companion_auditor, companion_keeper;

-- Every job is folded once more, by the program that shows pages.
UPDATE reading.job SET event_count = 0;

RESET ROLE;
