-- Files that supervisors publish to the boxes of a site: signed by them, taken or refused by each box.
SET ROLE companion_owner;

-- `manifest` are the bytes that are signed (`companion.published.manifest`): the version, the boxes
-- by their keys, and each file's hash.
CREATE TABLE store.publication (
    version integer PRIMARY KEY CHECK (version >= 1),
    site integer NOT NULL REFERENCES store.site,
    person integer NOT NULL REFERENCES store.person,
    name text NOT NULL,
    made timestamptz NOT NULL DEFAULT now(),
    manifest bytea NOT NULL,
    public_key text NOT NULL,
    signature text NOT NULL
);
CREATE TABLE store.publication_file (
    version integer NOT NULL REFERENCES store.publication,
    site integer NOT NULL REFERENCES store.site,
    path text NOT NULL,
    content bytea NOT NULL CHECK (octet_length(content) <= 1000000),
    PRIMARY KEY (version, path)
);
-- For which boxes, and what became of it there; `taken` is NULL until the box said so.
CREATE TABLE store.publication_box (
    box integer NOT NULL REFERENCES store.box,
    version integer NOT NULL REFERENCES store.publication,
    site integer NOT NULL REFERENCES store.site,
    answered timestamptz,
    taken boolean,
    told text NOT NULL DEFAULT '',
    PRIMARY KEY (box, version)
);

DO $$
DECLARE
    kept name;
BEGIN
    FOREACH kept IN ARRAY ARRAY['publication', 'publication_file', 'publication_box']::name[] LOOP
        EXECUTE format('ALTER TABLE store.%I ENABLE ROW LEVEL SECURITY', kept);
        EXECUTE format('CREATE POLICY of_my_sites ON store.%I FOR SELECT TO companion_supervisor '
            'USING (site = ANY ((SELECT store.my_sites())::integer[]))', kept);
        EXECUTE format('CREATE POLICY all_of_them ON store.%I FOR SELECT '
            'TO companion_auditor, companion_keeper USING (true)', kept);
        EXECUTE format('GRANT SELECT ON store.%I TO companion_supervisor, companion_auditor, '
            'companion_keeper', kept);
        EXECUTE format('CREATE TRIGGER never_emptied BEFORE TRUNCATE ON store.%I '
            'FOR EACH STATEMENT EXECUTE FUNCTION store.never_changed()', kept);
    END LOOP;
END
$$;

-- A box that could not take a version may still do so later; what it took, it took.
CREATE FUNCTION store.only_answered_by_box() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF OLD.taken OR (NEW.box, NEW.version, NEW.site) IS DISTINCT FROM
        (OLD.box, OLD.version, OLD.site) THEN
        RAISE EXCEPTION 'append-only: what was published is only answered'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER only_answered_by_box BEFORE UPDATE ON store.publication_box
    FOR EACH ROW EXECUTE FUNCTION store.only_answered_by_box();
CREATE TRIGGER never_changed BEFORE DELETE ON store.publication_box
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON store.publication
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON store.publication_file
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();

-- The version that the next publication has to have.
CREATE FUNCTION store.next_publication() RETURNS integer
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT coalesce(max(version), 0) + 1 FROM store.publication
$$;

-- By a supervisor, for boxes of one of their sites, signed with the key that they sign with.
CREATE FUNCTION store.publish(manifest bytea, signature text, paths text[], contents bytea[])
RETURNS integer
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    me store.person;
    key text;
    told jsonb;
    wanted text[];
    meant integer[];
    at_site integer[];
    made integer;
BEGIN
    SELECT * INTO me FROM store.person p WHERE p.person = store.my_person();
    IF me.kind IS DISTINCT FROM 'supervisor' THEN
        RAISE EXCEPTION 'only a supervisor publishes files' USING ERRCODE = 'insufficient_privilege';
    END IF;
    SELECT l.public_key INTO key FROM store.page_login l WHERE l.person = me.person;
    IF key IS NULL OR signature !~ '^[0-9a-f]{128}$' OR NOT store.is_signature(decode(key, 'hex'),
        decode(signature, 'hex'), convert_to(E'bay-companion published files 1\n', 'UTF8') || manifest)
    THEN
        RAISE EXCEPTION 'it is not signed by %', me.name USING ERRCODE = 'insufficient_privilege';
    END IF;
    told := convert_from(manifest, 'UTF8')::jsonb;
    IF told->>'by' IS DISTINCT FROM me.name THEN
        RAISE EXCEPTION 'it is not by %', me.name USING ERRCODE = 'insufficient_privilege';
    END IF;
    PERFORM pg_advisory_xact_lock(hashtext('store.publish'));
    made := (told->>'version')::integer;
    IF made IS DISTINCT FROM store.next_publication() THEN
        RAISE EXCEPTION 'another version was published meanwhile; publish it again'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    wanted := ARRAY(SELECT jsonb_array_elements_text(told->'boxes'));
    SELECT array_agg(DISTINCT b.box), array_agg(DISTINCT b.site) INTO meant, at_site
    FROM store.box_key k JOIN store.box b USING (box)
    WHERE encode(k.public_key, 'hex') = ANY (wanted) AND b.retired IS NULL
        AND b.site = ANY (store.my_sites());
    IF meant IS NULL OR cardinality(at_site) <> 1 OR cardinality(wanted) IS DISTINCT FROM
        (SELECT count(*) FROM store.box_key k
            WHERE k.box = ANY (meant) AND encode(k.public_key, 'hex') = ANY (wanted)) THEN
        RAISE EXCEPTION 'it is not for boxes of one site that % sees', me.name
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    IF (SELECT count(*) FROM unnest(paths, contents) AS f (path, content)
        WHERE coalesce(told->'files'->>f.path = encode(sha256(f.content), 'hex')
            AND f.path ~ '^[a-z0-9/._-]{1,100}$', false))
        IS DISTINCT FROM (SELECT count(*) FROM jsonb_object_keys(told->'files')) OR
        cardinality(paths) IS DISTINCT FROM (SELECT count(*) FROM jsonb_object_keys(told->'files'))
        OR cardinality(paths) > 500 THEN
        RAISE EXCEPTION 'the files are not those that were signed'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    INSERT INTO store.publication (version, site, person, name, manifest, public_key, signature)
    VALUES (made, at_site[1], me.person, me.name, manifest, key, signature);
    INSERT INTO store.publication_file (version, site, path, content)
    SELECT made, at_site[1], f.path, f.content FROM unnest(paths, contents) AS f (path, content);
    INSERT INTO store.publication_box (box, version, site)
    SELECT unnest(meant), made, at_site[1];
    RETURN made;
EXCEPTION WHEN data_exception OR integrity_constraint_violation THEN
    RAISE EXCEPTION 'it holds what no publication can hold: %', SQLERRM
        USING ERRCODE = 'insufficient_privilege';
END
$$;

-- For a box: the newest version for it, its files, and what became of it.
CREATE FUNCTION store.published_for_my_box()
RETURNS TABLE (version integer, manifest bytea, public_key text, signature text, taken boolean,
    told text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT p.version, p.manifest, p.public_key, p.signature, a.taken, a.told
    FROM store.publication_box a JOIN store.publication p USING (version)
    WHERE a.box = store.my_box() ORDER BY p.version DESC LIMIT 1
$$;
CREATE FUNCTION store.published_files(wanted integer)
RETURNS TABLE (path text, content bytea)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT f.path, f.content FROM store.publication_file f
    JOIN store.publication_box a ON a.version = f.version AND a.box = store.my_box()
    WHERE f.version = wanted ORDER BY f.path
$$;
CREATE FUNCTION store.answer_published(wanted integer, was_taken boolean, words text) RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    UPDATE store.publication_box SET answered = now(), taken = was_taken, told = left(words, 1000)
    WHERE version = wanted AND box = store.my_box() AND taken IS DISTINCT FROM true
$$;

GRANT EXECUTE ON FUNCTION store.next_publication(), store.publish(bytea, text, text[], bytea[])
    TO companion_supervisor;
GRANT EXECUTE ON FUNCTION store.published_for_my_box(), store.published_files(integer),
    store.answer_published(integer, boolean, text) TO companion_box;

RESET ROLE;
