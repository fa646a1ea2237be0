-- Ed25519 (RFC 8032, section 5.1.7): whether a box signed, looked at where nobody's program can
-- leave it out. Public values alone go in, so that nothing has to be kept from who measures time.
-- Some 15 ms each; a batch of events needs one.
SET ROLE companion_owner;

CREATE FUNCTION store.whole_number(little_endian bytea) RETURNS numeric
LANGUAGE plpgsql IMMUTABLE STRICT AS $$
DECLARE
    n numeric := 0;
BEGIN
    FOR i IN REVERSE octet_length(little_endian) - 1 .. 0 LOOP
        n := n * 256 + get_byte(little_endian, i);
    END LOOP;
    RETURN n;
END
$$;

CREATE FUNCTION store.bits(n numeric, many integer) RETURNS boolean[]
LANGUAGE plpgsql IMMUTABLE STRICT AS $$
DECLARE
    rest numeric := n;
    part bigint;
    found boolean[] := '{}';
BEGIN
    WHILE cardinality(found) < many LOOP
        part := rest % 4294967296;
        rest := div(rest, 4294967296);
        FOR i IN 0 .. 31 LOOP
            found := found || ((part >> i) & 1 = 1);
        END LOOP;
    END LOOP;
    RETURN found;
END
$$;

CREATE FUNCTION store.is_signature(public_key bytea, signature bytea, message bytea)
RETURNS boolean LANGUAGE plpgsql IMMUTABLE STRICT AS $$
DECLARE
    p CONSTANT numeric :=
        57896044618658097711785492504343953926634992332820282019728792003956564819949;
    l CONSTANT numeric :=
        7237005577332262213973186563042994240857116359379907606001950938285454250989;
    d CONSTANT numeric :=
        37095705934669439343138083508754565189542113879843219016388785533085940283555;
    root_of_minus_1 CONSTANT numeric :=
        19681161376707505956807079304988542015446066515923890162744021073123829784752;
    base_x CONSTANT numeric :=
        15112221349535400772501151409588531511454012693041857206046113283949847762202;
    base_y CONSTANT numeric :=
        46316835694926478169428394003475163141307993866256225615783033603165251855960;
    two_255 CONSTANT numeric :=
        57896044618658097711785492504343953926634992332820282019728792003956564819968;
    s numeric; k numeric; r_y numeric; r_sign integer; a_sign integer;
    s_bits boolean[]; k_bits boolean[];
    x numeric; y numeric; u numeric; v numeric; w numeric; t numeric;
    -- The points added, in extended coordinates: the base, minus the key, and their sum.
    px numeric[]; py numeric[]; pz numeric[]; pt numeric[];
    ax numeric; ay numeric; az numeric; at numeric;
    a numeric; b numeric; c numeric; e numeric; f numeric; g numeric; h numeric;
    which integer;
BEGIN
    IF octet_length(public_key) <> 32 OR octet_length(signature) <> 64 THEN
        RETURN false;
    END IF;
    s := store.whole_number(substring(signature FROM 33 FOR 32));
    IF s >= l THEN
        RETURN false;
    END IF;
    r_y := store.whole_number(substring(signature FROM 1 FOR 32));
    r_sign := div(r_y, two_255);
    r_y := r_y % two_255;
    y := store.whole_number(public_key);
    a_sign := div(y, two_255);
    y := y % two_255;
    IF y >= p THEN
        RETURN false;
    END IF;

    -- The key's point (5.1.3): x = (u/v)^((p+3)/8), with u = y^2 - 1 and v = d y^2 + 1.
    u := (y * y - 1) % p;
    v := (d * (y * y % p) + 1) % p;
    w := v * v % p * v % p;
    t := u * (w * w % p * v % p) % p;
    -- t to the power of (p - 5) / 8 = 2^252 - 3, all of whose bits but one are set.
    x := t;
    FOR i IN REVERSE 250 .. 0 LOOP
        x := x * x % p;
        IF i <> 1 THEN
            x := x * t % p;
        END IF;
    END LOOP;
    x := u * w % p * x % p;
    t := (v * (x * x % p) - u) % p;
    IF t <> 0 THEN
        IF (v * (x * x % p) + u) % p <> 0 THEN
            RETURN false;
        END IF;
        x := x * root_of_minus_1 % p;
    END IF;
    x := (x + p) % p;
    IF x = 0 AND a_sign = 1 THEN
        RETURN false;
    END IF;
    -- Minus the key: the other of the two.
    IF x % 2 = a_sign THEN
        x := (p - x) % p;
    END IF;

    k := store.whole_number(
        sha512(substring(signature FROM 1 FOR 32) || public_key || message)) % l;
    s_bits := store.bits(s, 256);
    k_bits := store.bits(k, 256);

    px := ARRAY[base_x, x];
    py := ARRAY[base_y, y];
    pz := ARRAY[1, 1];
    pt := ARRAY[base_x * base_y % p, x * y % p];
    a := (py[1] - px[1]) * (py[2] - px[2]) % p;
    b := (py[1] + px[1]) * (py[2] + px[2]) % p;
    c := 2 * (pt[1] * d % p) * pt[2] % p;
    e := b - a; f := 2 - c; g := 2 + c; h := b + a;
    px := px || (e * f % p); py := py || (g * h % p);
    pz := pz || (f * g % p); pt := pt || (e * h % p);

    -- s times the base minus k times the key, both bit by bit together.
    ax := 0; ay := 1; az := 1; at := 0;
    FOR i IN REVERSE 256 .. 1 LOOP
        a := ax * ax % p;
        b := ay * ay % p;
        c := 2 * (az * az) % p;
        h := a + b;
        t := ax + ay;
        e := (h - t * t) % p;
        g := a - b;
        f := (c + g) % p;
        ax := e * f % p; ay := g * h % p; at := e * h % p; az := f * g % p;
        which := CASE WHEN s_bits[i] THEN 1 ELSE 0 END + CASE WHEN k_bits[i] THEN 2 ELSE 0 END;
        IF which > 0 THEN
            a := (ay - ax) * (py[which] - px[which]) % p;
            b := (ay + ax) * (py[which] + px[which]) % p;
            c := 2 * (at * d % p) * pt[which] % p;
            t := 2 * az * pz[which] % p;
            e := b - a; f := t - c; g := t + c; h := b + a;
            ax := e * f % p; ay := g * h % p; at := e * h % p; az := f * g % p;
        END IF;
    END LOOP;

    -- Is it R? y = Y/Z and the sign of x = X/Z, without dividing but for the sign.
    IF r_y >= p OR (ay - r_y * az) % p <> 0 THEN
        RETURN false;
    END IF;
    -- 1/Z = Z^(p-2); p - 2 = 2^255 - 21, whose lowest five bits are 01011.
    az := (az + p) % p;
    t := az;
    FOR i IN REVERSE 253 .. 0 LOOP
        t := t * t % p;
        IF i <> 4 AND i <> 2 THEN
            t := t * az % p;
        END IF;
    END LOOP;
    x := (ax * t % p + p) % p;
    RETURN x % 2 = r_sign;
END
$$;

RESET ROLE;
