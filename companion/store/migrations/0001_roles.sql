-- The roles of the store, shared by every store of this cluster. None of them can log in: a box,
-- a supervisor, an auditor, a keeper is a role of its own that is a member of one of these.
DO $$
DECLARE
    wanted name;
BEGIN
    FOREACH wanted IN ARRAY ARRAY[
        'companion_owner', 'companion_box', 'companion_supervisor', 'companion_auditor',
        'companion_keeper'
    ]::name[] LOOP
        IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = wanted) THEN
            EXECUTE format('CREATE ROLE %I NOLOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE', wanted);
        END IF;
    END LOOP;
END
$$;

-- Nobody but these comes in, and nobody makes temporary tables or functions of their own.
DO $$
BEGIN
    EXECUTE format('REVOKE ALL ON DATABASE %I FROM PUBLIC', current_database());
    EXECUTE format(
        'GRANT CONNECT ON DATABASE %I TO companion_box, companion_supervisor, companion_auditor, '
        'companion_keeper', current_database());
    EXECUTE format('GRANT CONNECT, CREATE, TEMPORARY ON DATABASE %I TO companion_owner',
        current_database());
END
$$;
REVOKE ALL ON SCHEMA public FROM PUBLIC;

GRANT companion_owner TO CURRENT_USER;
CREATE SCHEMA store AUTHORIZATION companion_owner;
GRANT USAGE ON SCHEMA store TO companion_box, companion_supervisor, companion_auditor,
    companion_keeper;

SET ROLE companion_owner;
ALTER DEFAULT PRIVILEGES FOR ROLE companion_owner REVOKE EXECUTE ON FUNCTIONS FROM PUBLIC;
RESET ROLE;
