-- People, and who sees which site. Each person is a role of the cluster, so that it is the engine
-- that keeps them apart, whatever a program asks.
SET ROLE companion_owner;

CREATE TABLE store.person (
    person integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name store.told NOT NULL,
    login store.told NOT NULL UNIQUE,
    role name NOT NULL UNIQUE,
    kind text NOT NULL CHECK (kind IN ('supervisor', 'auditor', 'keeper')),
    added timestamptz NOT NULL DEFAULT now(),
    left_us timestamptz
);
CREATE TABLE store.person_site (
    person integer NOT NULL REFERENCES store.person,
    site integer NOT NULL REFERENCES store.site,
    PRIMARY KEY (person, site)
);

CREATE FUNCTION store.my_person() RETURNS integer
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT person FROM store.person WHERE role = store.acting() AND left_us IS NULL
$$;

-- The sites that the person sees; a policy asks once a query: site = ANY ((SELECT ...)).
CREATE FUNCTION store.my_sites() RETURNS integer[]
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT CASE (SELECT kind FROM store.person WHERE person = store.my_person())
        WHEN 'supervisor' THEN coalesce((SELECT array_agg(site) FROM store.person_site
            WHERE person = store.my_person()), '{}')
        WHEN 'auditor' THEN coalesce((SELECT array_agg(site) FROM store.site), '{}')
        WHEN 'keeper' THEN coalesce((SELECT array_agg(site) FROM store.site), '{}')
        ELSE '{}'::integer[] END
$$;

-- What each kind of role may read. Rows: a box its own, a supervisor those of their sites, auditors
-- and keepers all.
DO $$
DECLARE
    kept name;
BEGIN
    FOREACH kept IN ARRAY ARRAY['job', 'event', 'box']::name[] LOOP
        EXECUTE format('ALTER TABLE store.%I ENABLE ROW LEVEL SECURITY', kept);
        EXECUTE format('CREATE POLICY of_my_sites ON store.%I FOR SELECT TO companion_supervisor '
            'USING (site = ANY ((SELECT store.my_sites())::integer[]))', kept);
        EXECUTE format('CREATE POLICY all_of_them ON store.%I FOR SELECT '
            'TO companion_auditor, companion_keeper USING (true)', kept);
        EXECUTE format('GRANT SELECT ON store.%I TO companion_supervisor, companion_auditor, '
            'companion_keeper', kept);
    END LOOP;
    FOREACH kept IN ARRAY ARRAY['job', 'event', 'box', 'mark', 'sealed_head', 'refusal', 'box_key']
        ::name[] LOOP
        EXECUTE format('ALTER TABLE store.%I ENABLE ROW LEVEL SECURITY', kept);
        EXECUTE format('CREATE POLICY my_own ON store.%I FOR SELECT TO companion_box '
            'USING (box = (SELECT store.my_box()))', kept);
        EXECUTE format('GRANT SELECT ON store.%I TO companion_box', kept);
    END LOOP;
    FOREACH kept IN ARRAY ARRAY['mark', 'sealed_head', 'refusal', 'box_key']::name[] LOOP
        EXECUTE format('CREATE POLICY of_my_boxes ON store.%I FOR SELECT TO companion_supervisor '
            'USING (box IN (SELECT b.box FROM store.box b))', kept);
        EXECUTE format('CREATE POLICY all_of_them ON store.%I FOR SELECT '
            'TO companion_auditor, companion_keeper USING (true)', kept);
        EXECUTE format('GRANT SELECT ON store.%I TO companion_supervisor, companion_auditor, '
            'companion_keeper', kept);
    END LOOP;
END
$$;
ALTER TABLE store.site ENABLE ROW LEVEL SECURITY;
CREATE POLICY my_own ON store.site FOR SELECT TO companion_box
    USING (site IN (SELECT b.site FROM store.box b));
CREATE POLICY of_my_sites ON store.site FOR SELECT TO companion_supervisor
    USING (site = ANY ((SELECT store.my_sites())::integer[]));
CREATE POLICY all_of_them ON store.site FOR SELECT TO companion_auditor, companion_keeper
    USING (true);
GRANT SELECT ON store.site TO companion_box, companion_supervisor, companion_auditor,
    companion_keeper;
GRANT SELECT ON store.seal, store.seal_leaf, store.keeping TO companion_auditor, companion_keeper;
GRANT SELECT ON store.person TO companion_auditor, companion_keeper;
GRANT SELECT ON store.person_site TO companion_auditor, companion_keeper;
GRANT INSERT ON store.seal, store.seal_leaf TO companion_keeper;

GRANT EXECUTE ON FUNCTION store.acting() TO companion_box, companion_supervisor,
    companion_auditor, companion_keeper;
GRANT EXECUTE ON FUNCTION store.my_box(), store.place(), store.say(bigint, bytea, jsonb),
    store.begin_batch(), store.take() TO companion_box;
GRANT EXECUTE ON FUNCTION store.my_sites(), store.my_person() TO companion_supervisor, companion_auditor, companion_keeper;

-- Lets the next batch of a box pass although its clock contradicts the order; noted for good.
CREATE FUNCTION store.excuse(named text, why text) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    UPDATE store.box SET excused_mark = last_mark WHERE name = named;
    IF NOT FOUND THEN
        RAISE EXCEPTION 'the store knows no box %', named USING ERRCODE = 'no_data_found';
    END IF;
    INSERT INTO store.keeping (by, what)
    VALUES (store.acting(), format('the clock of %s excused: %s', named, why));
    DELETE FROM store.refusal WHERE what = 'clock'
        AND box = (SELECT b.box FROM store.box b WHERE b.name = named);
END
$$;
GRANT EXECUTE ON FUNCTION store.excuse(text, text) TO companion_keeper;

RESET ROLE;
