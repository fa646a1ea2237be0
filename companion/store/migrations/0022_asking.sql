-- Supervisors who ask a box to know the key that they sign with at the store's pages.
SET ROLE companion_owner;

-- `body`: who asks, with which key, of which box, signed with that key. The box answers once a
-- supervisor there vouched for it, or declined.
CREATE TABLE store.asking (
    number bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    site integer NOT NULL REFERENCES store.site,
    box integer NOT NULL REFERENCES store.box,
    person integer NOT NULL REFERENCES store.person,
    made timestamptz NOT NULL DEFAULT now(),
    body jsonb NOT NULL,
    answered timestamptz,
    taken boolean,
    told text NOT NULL DEFAULT ''
);
CREATE UNIQUE INDEX asking_waiting ON store.asking (box, person) WHERE answered IS NULL;

-- Once answered it says no more than the number of it, so that no name has to be looked for here.
CREATE FUNCTION store.ask_box(wanted integer, body jsonb) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    seen store.box;
    me store.person;
BEGIN
    SELECT * INTO seen FROM store.box b
    WHERE b.box = wanted AND b.retired IS NULL AND b.site = ANY (store.my_sites());
    SELECT * INTO me FROM store.person p WHERE p.person = store.my_person();
    IF seen.box IS NULL OR me.kind IS DISTINCT FROM 'supervisor' THEN
        RAISE EXCEPTION 'there is no such box, or you sign at none'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    IF body->>'name' IS DISTINCT FROM me.name OR body->>'public_key' IS DISTINCT FROM
        (SELECT l.public_key FROM store.page_login l WHERE l.person = me.person)
        OR NOT EXISTS (SELECT 1 FROM store.box_key k WHERE k.box = seen.box
            AND encode(k.public_key, 'hex') = body->>'box_key')
        OR pg_column_size(body) > 5000 THEN
        RAISE EXCEPTION 'it is not asked by % of this box', me.name
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    UPDATE store.asking a SET answered = now(), taken = false, told = 'asked anew', body = '{}'
    WHERE a.box = seen.box AND a.person = me.person AND a.answered IS NULL;
    INSERT INTO store.asking (site, box, person, body)
    VALUES (seen.site, seen.box, me.person, ask_box.body);
END
$$;

-- For a box: who asks it, and what became of that.
CREATE FUNCTION store.asked_of_my_box() RETURNS TABLE (number bigint, body text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT a.number, a.body::text FROM store.asking a
    WHERE a.box = store.my_box() AND a.answered IS NULL ORDER BY a.number LIMIT 100
$$;
CREATE FUNCTION store.answer_asking(wanted bigint, was_taken boolean, words text) RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    UPDATE store.asking SET answered = now(), taken = was_taken, told = left(words, 500),
        body = '{}'
    WHERE number = wanted AND box = store.my_box() AND answered IS NULL
$$;

ALTER TABLE store.asking ENABLE ROW LEVEL SECURITY;
CREATE POLICY of_my_sites ON store.asking FOR SELECT TO companion_supervisor
    USING (site = ANY ((SELECT store.my_sites())::integer[]));
CREATE POLICY all_of_them ON store.asking FOR SELECT TO companion_auditor, companion_keeper
    USING (true);
GRANT SELECT ON store.asking TO companion_supervisor, companion_auditor, companion_keeper;
GRANT EXECUTE ON FUNCTION store.ask_box(integer, jsonb) TO companion_supervisor;
GRANT EXECUTE ON FUNCTION store.asked_of_my_box(), store.answer_asking(bigint, boolean, text)
    TO companion_box;

RESET ROLE;
