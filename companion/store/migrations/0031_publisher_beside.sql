-- A publisher's name stands beside what was signed, no longer in it: so it can become a pseudonym. Who
-- published is told by the key. What was published before stays as it is, name and all.
SET ROLE companion_owner;

-- By a supervisor, for boxes of one of their sites, signed with the key that they sign with.
CREATE OR REPLACE FUNCTION store.publish(manifest bytea, signature text, paths text[], contents bytea[])
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
        decode(signature, 'hex'), convert_to(E'bay-companion published files 2\n', 'UTF8') || manifest)
    THEN
        RAISE EXCEPTION 'it is not signed by %', me.name USING ERRCODE = 'insufficient_privilege';
    END IF;
    told := convert_from(manifest, 'UTF8')::jsonb;
    IF told->>'format' IS DISTINCT FROM 'bay-companion published files 2' OR told ? 'by' THEN
        RAISE EXCEPTION 'it is of another format; use the same version as the store'
            USING ERRCODE = 'insufficient_privilege';
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

CREATE FUNCTION store.only_publishers_name_goes() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (NEW.version, NEW.site, NEW.person, NEW.made, NEW.manifest, NEW.public_key, NEW.signature)
        IS DISTINCT FROM
        (OLD.version, OLD.site, OLD.person, OLD.made, OLD.manifest, OLD.public_key, OLD.signature)
        OR (NEW.name IS DISTINCT FROM OLD.name AND NOT EXISTS (SELECT 1 FROM store.pseudonym p
            WHERE p.told = NEW.name AND lower(p.name) = lower(btrim(OLD.name)))) THEN
        RAISE EXCEPTION 'append-only: of a publication only its publisher''s name is replaced'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END
$$;
DROP TRIGGER never_changed ON store.publication;
CREATE TRIGGER never_changed BEFORE DELETE ON store.publication
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER only_publishers_name_goes BEFORE UPDATE ON store.publication
    FOR EACH ROW EXECUTE FUNCTION store.only_publishers_name_goes();

RESET ROLE;
