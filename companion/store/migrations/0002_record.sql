-- What boxes send: jobs, events, marks, seals. Only ever added to.
SET ROLE companion_owner;

-- Names that stand in hashed text without an escape.
CREATE DOMAIN store.job_id AS text CHECK (VALUE ~ '^[A-Za-z0-9._-]{1,100}$');
CREATE DOMAIN store.kind AS text CHECK (VALUE ~ '^[A-Za-z0-9._-]{1,64}$');
CREATE DOMAIN store.hash AS bytea CHECK (octet_length(VALUE) = 32);
CREATE DOMAIN store.told AS text CHECK (char_length(VALUE) BETWEEN 1 AND 200);

CREATE TABLE store.site (
    site integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name store.told NOT NULL UNIQUE
);

-- `role` is what the box logs in as. What stands from `last_mark` on is where its record was when
-- the store last took something: the mark's number and link, and the last trusted date.
CREATE TABLE store.box (
    box integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name store.told NOT NULL UNIQUE,
    site integer NOT NULL REFERENCES store.site,
    role name NOT NULL UNIQUE,
    added timestamptz NOT NULL DEFAULT now(),
    retired timestamptz,
    last_mark bigint NOT NULL DEFAULT 0,
    last_link store.hash NOT NULL DEFAULT decode(repeat('00', 32), 'hex'),
    last_trusted timestamptz,
    last_monotonic_ns bigint,
    sealed integer NOT NULL DEFAULT 0,
    excused_mark bigint,
    last_seen timestamptz,
    last_taken timestamptz,
    told jsonb NOT NULL DEFAULT '{}'
);

CREATE TABLE store.box_key (
    box integer NOT NULL REFERENCES store.box,
    public_key store.hash NOT NULL,
    since timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (public_key)
);

-- `month` is that of the job's arrival by the store's own clock: a box's date may be any.
CREATE TABLE store.job (
    job bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    box integer NOT NULL REFERENCES store.box,
    site integer NOT NULL REFERENCES store.site,
    id store.job_id NOT NULL,
    opened_utc text NOT NULL,
    opening_hash store.hash NOT NULL,
    month date NOT NULL,
    arrived timestamptz NOT NULL DEFAULT now(),
    last_seq integer NOT NULL DEFAULT 0,
    head store.hash NOT NULL,
    UNIQUE (box, id)
);

-- The canonical bytes of an event are put together from these columns as on the box; the hash of
-- the event before it stands in that event. A job has one month, so (box, job, sequence) is unique.
CREATE TABLE store.event (
    month date NOT NULL,
    box integer NOT NULL,
    job bigint NOT NULL,
    sequence integer NOT NULL CHECK (sequence >= 1),
    site integer NOT NULL,
    monotonic_ns bigint NOT NULL,
    clock_trusted boolean NOT NULL,
    kind store.kind NOT NULL,
    at_utc text NOT NULL,
    hash store.hash NOT NULL,
    body text COMPRESSION lz4 NOT NULL,
    PRIMARY KEY (box, job, sequence, month)
) PARTITION BY RANGE (month);

-- Of the marks that came together, the last of each job, and each that found or sealed something.
-- Each is signed by itself; `received` is the store's own clock.
CREATE TABLE store.mark (
    box integer NOT NULL REFERENCES store.box,
    number bigint NOT NULL,
    public_key store.hash NOT NULL,
    what text NOT NULL,
    job_id text NOT NULL,
    sequence integer NOT NULL,
    head store.hash NOT NULL,
    previous store.hash NOT NULL,
    signature bytea NOT NULL CHECK (octet_length(signature) = 64),
    received timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (box, number)
);
CREATE INDEX mark_by_job ON store.mark (box, job_id);

CREATE TABLE store.sealed_head (
    box integer NOT NULL REFERENCES store.box,
    number integer NOT NULL,
    job_id text NOT NULL,
    sequence integer NOT NULL,
    PRIMARY KEY (box, number)
);

-- The store's own seals: a root over where each box stood; `previous` is the root before.
CREATE TABLE store.seal (
    seal integer PRIMARY KEY CHECK (seal >= 1),
    made timestamptz NOT NULL,
    root store.hash NOT NULL,
    previous bytea NOT NULL
);
CREATE TABLE store.seal_leaf (
    seal integer NOT NULL REFERENCES store.seal,
    place integer NOT NULL,
    box integer NOT NULL REFERENCES store.box,
    name text NOT NULL,
    mark bigint NOT NULL,
    link store.hash NOT NULL,
    PRIMARY KEY (seal, place)
);

-- What was not taken, and how often: one line a box and kind, so that nobody can flood it.
CREATE TABLE store.refusal (
    box integer NOT NULL REFERENCES store.box,
    what text NOT NULL,
    told text NOT NULL,
    first timestamptz NOT NULL DEFAULT now(),
    last timestamptz NOT NULL DEFAULT now(),
    times bigint NOT NULL DEFAULT 1,
    PRIMARY KEY (box, what)
);

-- What keepers did that weakens a check.
CREATE TABLE store.keeping (
    number bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    at timestamptz NOT NULL DEFAULT now(),
    by name NOT NULL,
    what text NOT NULL
);

CREATE FUNCTION store.never_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'append-only: % is never changed or deleted', TG_TABLE_NAME
        USING ERRCODE = 'insufficient_privilege';
END
$$;

-- Of a job only its head moves, and only forwards.
CREATE FUNCTION store.only_grows() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (NEW.job, NEW.box, NEW.site, NEW.id, NEW.opened_utc, NEW.opening_hash, NEW.month, NEW.arrived)
        IS DISTINCT FROM
        (OLD.job, OLD.box, OLD.site, OLD.id, OLD.opened_utc, OLD.opening_hash, OLD.month, OLD.arrived)
        OR NEW.last_seq < OLD.last_seq THEN
        RAISE EXCEPTION 'append-only: a job only grows' USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END
$$;

CREATE TRIGGER only_grows BEFORE UPDATE ON store.job
    FOR EACH ROW EXECUTE FUNCTION store.only_grows();
CREATE TRIGGER never_changed BEFORE DELETE ON store.job
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON store.event
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON store.mark
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON store.sealed_head
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON store.seal
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON store.seal_leaf
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON store.box_key
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON store.keeping
    FOR EACH ROW EXECUTE FUNCTION store.never_changed();
DO $$
DECLARE
    guarded name;
BEGIN
    FOREACH guarded IN ARRAY ARRAY[
        'job', 'event', 'mark', 'sealed_head', 'seal', 'seal_leaf', 'box_key', 'keeping'
    ]::name[] LOOP
        EXECUTE format('CREATE TRIGGER never_emptied BEFORE TRUNCATE ON store.%I '
            'FOR EACH STATEMENT EXECUTE FUNCTION store.never_changed()', guarded);
    END LOOP;
END
$$;

-- The partition of a month, made when the first job of it arrives.
CREATE FUNCTION store.make_month(wanted date) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    named text := 'event_' || to_char(wanted, 'YYYY_MM');
BEGIN
    IF to_regclass('store.' || named) IS NOT NULL THEN
        RETURN;
    END IF;
    PERFORM pg_advisory_xact_lock(hashtext('store.make_month'));
    -- Read from the catalogue: what this connection remembers of names may be from before the lock.
    IF EXISTS (SELECT 1 FROM pg_class
        WHERE relname = named AND relnamespace = 'store'::regnamespace) THEN
        RETURN;
    END IF;
    -- Attached, not made as a partition: that would lock out everybody who reads or sends, and
    -- two who send in the first second of a month would wait for each other.
    EXECUTE format('CREATE TABLE store.%I (LIKE store.event INCLUDING ALL)', named);
    EXECUTE format('ALTER TABLE store.event ATTACH PARTITION store.%I FOR VALUES FROM (%L) TO (%L)',
        named, wanted, (wanted + interval '1 month')::date);
    -- Neither row security nor triggers on TRUNCATE go from a table to its partitions.
    EXECUTE format('ALTER TABLE store.%I ENABLE ROW LEVEL SECURITY', named);
    EXECUTE format('CREATE TRIGGER never_emptied BEFORE TRUNCATE ON store.%I '
        'FOR EACH STATEMENT EXECUTE FUNCTION store.never_changed()', named);
END
$$;

RESET ROLE;
