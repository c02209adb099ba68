-- prepkit's store in PostgreSQL, format 1. Run it once in the database, as somebody who may make roles:
--
--     prepkit store-setup | psql --set ON_ERROR_STOP=1 --dbname prepkit
--
-- Two roles, neither of which logs in: prepkit_owner has the tables, prepkit_app may read its own ward's records and call
-- prepkit.append, and has no right to insert, change, delete or truncate anything. Each ward's devices log in as a role of
-- their own that is a member of prepkit_app; what it sees is decided here, by row-level security, and not by a screen.

BEGIN;

DO $$ BEGIN
    IF NOT EXISTS (SELECT FROM pg_catalog.pg_roles WHERE rolname = 'prepkit_owner') THEN
        CREATE ROLE prepkit_owner NOLOGIN;
    END IF;
    IF NOT EXISTS (SELECT FROM pg_catalog.pg_roles WHERE rolname = 'prepkit_app') THEN
        CREATE ROLE prepkit_app NOLOGIN;
    END IF;
    -- The hash of a record is made of its UTF-8 bytes, and any text has to find room.
    IF pg_catalog.current_setting('server_encoding') <> 'UTF8' THEN
        RAISE EXCEPTION 'prepkit needs a database in UTF8: createdb --encoding UTF8 --template template0 NAME';
    END IF;
END $$;

-- Whoever runs this need not be a superuser, but has to be a member of the owner to make things in its name.
GRANT prepkit_owner TO CURRENT_USER;
CREATE SCHEMA prepkit AUTHORIZATION prepkit_owner;
SET LOCAL ROLE prepkit_owner;

CREATE FUNCTION prepkit.format() RETURNS integer LANGUAGE sql IMMUTABLE AS 'SELECT 1';

CREATE TABLE prepkit.ward (
    id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name text NOT NULL UNIQUE CHECK (name <> '')
);

-- Which ward somebody who logs in works on: one, or none.
CREATE TABLE prepkit.member (
    login text PRIMARY KEY,
    ward bigint NOT NULL REFERENCES prepkit.ward
);

-- session_user is who logged in: SET ROLE does not change it, nor does a function that runs as its owner.
CREATE FUNCTION prepkit.my_ward() RETURNS bigint
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
AS 'SELECT m.ward FROM prepkit.member m WHERE m.login = session_user';

-- Collation "C": texts are compared byte by byte, and an index never depends on the version of a library.
-- No reference to the ward here: it would lock the ward's row for every record, and the login's row has it.
CREATE TABLE prepkit.record (
    ward bigint NOT NULL,
    position bigint NOT NULL CHECK (position > 0),
    prep text COLLATE "C" NOT NULL,
    seq bigint NOT NULL CHECK (seq > 0),
    kind text COLLATE "C" NOT NULL,
    form integer NOT NULL,
    at text COLLATE "C" NOT NULL,
    who text COLLATE "C" NOT NULL,
    verified integer NOT NULL CHECK (verified IN (0, 1)),
    "where" text COLLATE "C" NOT NULL,
    body text COLLATE "C" NOT NULL,
    "before" text COLLATE "C" NOT NULL,
    hash text COLLATE "C" NOT NULL,
    PRIMARY KEY (ward, position),
    UNIQUE (ward, prep, seq)
);

-- Where each preparation stands, kept up by prepkit.append in the transaction of its record; see prepkit.store.derived.
CREATE TABLE prepkit.head (
    ward bigint NOT NULL,
    prep text COLLATE "C" NOT NULL,
    first bigint NOT NULL,
    last bigint NOT NULL,
    hash text COLLATE "C" NOT NULL,
    ended bigint,
    PRIMARY KEY (ward, prep)
) WITH (fillfactor = 70);
CREATE INDEX head_first ON prepkit.head (ward, first);
CREATE INDEX head_open ON prepkit.head (ward, first) WHERE ended IS NULL;
CREATE INDEX head_ended ON prepkit.head (ward, ended) WHERE ended IS NOT NULL;

-- What was made from a preparation, by whoever reads it; never the only place of anything.
CREATE TABLE prepkit.gist (
    ward bigint NOT NULL,
    sort text COLLATE "C" NOT NULL,
    prep text COLLATE "C" NOT NULL,
    maker text COLLATE "C" NOT NULL,
    hash text COLLATE "C" NOT NULL,
    key text COLLATE "C" NOT NULL,
    body text COLLATE "C" NOT NULL,
    PRIMARY KEY (ward, sort, prep)
);
CREATE INDEX gist_key ON prepkit.gist (ward, sort, key);

-- One chain for each ward: the last position ever given out, and the hash the next record has to follow. Whoever appends
-- locks the ward's row, so that there is one order and no gap; wards do not wait for each other.
CREATE TABLE prepkit.chain_end (
    ward bigint PRIMARY KEY REFERENCES prepkit.ward,
    position bigint NOT NULL,
    hash text COLLATE "C" NOT NULL
) WITH (fillfactor = 10);

CREATE FUNCTION prepkit.refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a record is never changed and never deleted' USING ERRCODE = 'PK003';
END $$;

CREATE FUNCTION prepkit.only_forward() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.ward <> OLD.ward OR NEW.position <= OLD.position THEN
        RAISE EXCEPTION 'a position is never given out twice' USING ERRCODE = 'PK003';
    END IF;
    RETURN NEW;
END $$;

CREATE TRIGGER record_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON prepkit.record
    FOR EACH STATEMENT EXECUTE FUNCTION prepkit.refuse();
CREATE TRIGGER end_kept BEFORE DELETE OR TRUNCATE ON prepkit.chain_end
    FOR EACH STATEMENT EXECUTE FUNCTION prepkit.refuse();
CREATE TRIGGER end_forward BEFORE UPDATE ON prepkit.chain_end
    FOR EACH ROW EXECUTE FUNCTION prepkit.only_forward();
ALTER TABLE prepkit.record ENABLE ALWAYS TRIGGER record_kept;
ALTER TABLE prepkit.chain_end ENABLE ALWAYS TRIGGER end_kept;
ALTER TABLE prepkit.chain_end ENABLE ALWAYS TRIGGER end_forward;

-- FORCE: the owner is held to it too, and so is the function below, which runs as the owner.
ALTER TABLE prepkit.record ENABLE ROW LEVEL SECURITY;
ALTER TABLE prepkit.record FORCE ROW LEVEL SECURITY;
ALTER TABLE prepkit.chain_end ENABLE ROW LEVEL SECURITY;
ALTER TABLE prepkit.chain_end FORCE ROW LEVEL SECURITY;
ALTER TABLE prepkit.head ENABLE ROW LEVEL SECURITY;
ALTER TABLE prepkit.head FORCE ROW LEVEL SECURITY;
ALTER TABLE prepkit.gist ENABLE ROW LEVEL SECURITY;
ALTER TABLE prepkit.gist FORCE ROW LEVEL SECURITY;
CREATE POLICY read_own ON prepkit.record FOR SELECT USING (ward = (SELECT prepkit.my_ward()));
CREATE POLICY add_own ON prepkit.record FOR INSERT WITH CHECK (ward = (SELECT prepkit.my_ward()));
CREATE POLICY read_own ON prepkit.chain_end FOR SELECT USING (ward = (SELECT prepkit.my_ward()));
CREATE POLICY move_own ON prepkit.chain_end FOR UPDATE USING (ward = (SELECT prepkit.my_ward()));
CREATE POLICY keep_own ON prepkit.head USING (ward = (SELECT prepkit.my_ward()));
CREATE POLICY keep_own ON prepkit.gist USING (ward = (SELECT prepkit.my_ward()));
CREATE POLICY begin_any ON prepkit.chain_end FOR INSERT WITH CHECK (position = 0 AND hash = repeat('0', 64));

-- The one way into the store. It gives out the position and makes the hash itself, as prepkit.store.chain writes it down,
-- so that a caller can forge neither, and it is one statement, so that a caller who is cut off in the middle holds no lock.
-- A store that is moved here names what its records have to follow; whoever ticks a line leaves those two NULL.
CREATE FUNCTION prepkit.append(
    preps text[], seqs bigint[], kinds text[], forms integer[], ats text[], whos text[], verifieds integer[],
    wheres text[], bodies text[], follows_position bigint, follows_hash text
) RETURNS TABLE (given_position bigint, given_before text, given_hash text)
LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
AS $$
DECLARE
    mine CONSTANT bigint := prepkit.my_ward();
    draft record;
    found_seq bigint;
BEGIN
    IF mine IS NULL THEN
        RAISE EXCEPTION 'this login belongs to no ward' USING ERRCODE = 'PK002';
    END IF;
    PERFORM set_config('lock_timeout', '5000', true);
    IF current_setting('synchronous_commit') = 'off' THEN
        -- Until the end of this transaction: what is told as kept outlasts a power cut, whatever the session has set.
        PERFORM set_config('synchronous_commit', 'on', true);
    END IF;
    SELECT e.position, e.hash INTO STRICT given_position, given_hash FROM prepkit.chain_end e WHERE e.ward = mine FOR UPDATE;
    IF given_position <> coalesce(follows_position, given_position) OR given_hash <> coalesce(follows_hash, given_hash) THEN
        RAISE EXCEPTION '%', given_position USING ERRCODE = 'PK001';
    END IF;
    FOR draft IN
        SELECT * FROM unnest(preps, seqs, kinds, forms, ats, whos, verifieds, wheres, bodies) WITH ORDINALITY
            AS d (prep, seq, kind, form, at, who, verified, place, body, number) ORDER BY d.number
    LOOP
        SELECT r.seq INTO found_seq FROM prepkit.record r
            WHERE r.ward = mine AND r.prep = draft.prep ORDER BY r.seq DESC LIMIT 1;
        IF coalesce(found_seq, 0) <> draft.seq - 1 THEN
            RAISE EXCEPTION '%', coalesce(found_seq, 0) USING ERRCODE = 'PK001';
        END IF;
        given_position := given_position + 1;
        given_before := given_hash;
        given_hash := encode(sha256(convert_to(concat(
            given_before, '[', given_position, ',', to_json(draft.prep), ',', draft.seq, ',', to_json(draft.kind), ',',
            draft.form, ',', to_json(draft.at), ',', to_json(draft.who), ',', draft.verified, ',',
            to_json(draft.place), ',', to_json(draft.body), ']'
        ), 'UTF8')), 'hex');
        INSERT INTO prepkit.record VALUES (
            mine, given_position, draft.prep, draft.seq, draft.kind, draft.form, draft.at, draft.who, draft.verified,
            draft.place, draft.body, given_before, given_hash
        );
        INSERT INTO prepkit.head AS h VALUES (
            mine, draft.prep, given_position, given_position, given_hash,
            CASE WHEN draft.kind IN ('closed', 'stood-down') THEN given_position END
        ) ON CONFLICT (ward, prep) DO UPDATE
            SET last = excluded.last, hash = excluded.hash, ended = coalesce(h.ended, excluded.ended);
        RETURN NEXT;
    END LOOP;
    UPDATE prepkit.chain_end e SET position = given_position, hash = given_hash WHERE e.ward = mine;
    PERFORM pg_notify('prepkit_' || mine, given_position::text);
END $$;

-- The heads worked out again from the records alone, where they were found to be wrong.
CREATE FUNCTION prepkit.rebuild_heads() RETURNS void
LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
AS $$
DECLARE
    mine CONSTANT bigint := prepkit.my_ward();
BEGIN
    PERFORM FROM prepkit.chain_end e WHERE e.ward = mine FOR UPDATE;
    DELETE FROM prepkit.head h WHERE h.ward = mine;
    INSERT INTO prepkit.head
        SELECT mine, r.prep, min(r.position), max(r.position), (array_agg(r.hash ORDER BY r.position DESC))[1],
            min(r.position) FILTER (WHERE r.kind IN ('closed', 'stood-down'))
        FROM prepkit.record r WHERE r.ward = mine GROUP BY r.prep;
END $$;

CREATE FUNCTION prepkit.keep_gists(
    one_sort text, one_maker text, preps text[], hashes text[], keys text[], bodies text[]
) RETURNS void LANGUAGE sql VOLATILE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
AS $$
    INSERT INTO prepkit.gist
        SELECT DISTINCT ON (g.prep) prepkit.my_ward(), one_sort, g.prep, one_maker, g.hash, g.key, g.body
        FROM unnest(preps, hashes, keys, bodies) WITH ORDINALITY AS g (prep, hash, key, body, number)
        ORDER BY g.prep, g.number DESC
    ON CONFLICT (ward, sort, prep) DO UPDATE
        SET maker = excluded.maker, hash = excluded.hash, key = excluded.key, body = excluded.body
$$;

REVOKE ALL ON FUNCTION prepkit.append, prepkit.rebuild_heads, prepkit.keep_gists, prepkit.my_ward, prepkit.refuse, prepkit.only_forward FROM PUBLIC;
GRANT USAGE ON SCHEMA prepkit TO prepkit_app;
GRANT SELECT ON prepkit.record, prepkit.chain_end, prepkit.head, prepkit.gist TO prepkit_app;
GRANT EXECUTE ON FUNCTION prepkit.append, prepkit.rebuild_heads, prepkit.keep_gists, prepkit.my_ward, prepkit.format
    TO prepkit_app;

COMMIT;
