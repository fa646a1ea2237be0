-- What has come and is not in the index yet: a line a job and batch, so that nobody looks at every
-- job of the store to find the few that are new. Only ever added to by the store's own way; the
-- indexer takes away what it folded.
SET ROLE companion_owner;

CREATE TABLE reading.arrived (
    number bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    job bigint NOT NULL
);
ALTER TABLE reading.arrived ENABLE ROW LEVEL SECURITY;
CREATE POLICY makes_them ON reading.arrived FOR ALL TO companion_indexer
    USING (true) WITH CHECK (true);
GRANT SELECT, INSERT, DELETE ON reading.arrived TO companion_indexer;

CREATE FUNCTION store.note_arrival() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    INSERT INTO reading.arrived (job) SELECT g.job FROM grown g;
    RETURN NULL;
END
$$;
CREATE TRIGGER note_arrival AFTER UPDATE ON store.job
    REFERENCING NEW TABLE AS grown
    FOR EACH STATEMENT EXECUTE FUNCTION store.note_arrival();
CREATE TRIGGER note_arrival_of_new AFTER INSERT ON store.job
    REFERENCING NEW TABLE AS grown
    FOR EACH STATEMENT EXECUTE FUNCTION store.note_arrival();

-- What is taken out of the index, for a name was replaced in it, is to be folded anew.
CREATE TRIGGER note_arrival_of_gone AFTER DELETE ON reading.job
    REFERENCING OLD TABLE AS grown
    FOR EACH STATEMENT EXECUTE FUNCTION store.note_arrival();

INSERT INTO reading.arrived (job)
SELECT j.job FROM store.job j LEFT JOIN reading.job r USING (job)
WHERE r.job IS NULL OR r.event_count < j.last_seq ORDER BY j.job;

RESET ROLE;
