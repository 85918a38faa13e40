--
-- PostgreSQL database dump
--


-- Dumped from database version 15.20 (Debian 15.20-0+deb12u1)
-- Dumped by pg_dump version 15.20 (Debian 15.20-0+deb12u1)

SET statement_timeout = 0;
SET lock_timeout = 0;
SET idle_in_transaction_session_timeout = 0;
SET client_encoding = 'UTF8';
SET standard_conforming_strings = on;
SELECT pg_catalog.set_config('search_path', '', false);
SET check_function_bodies = false;
SET xmloption = content;
SET client_min_messages = warning;
SET row_security = off;

--
-- Name: audit_trail_refuse(); Type: FUNCTION; Schema: public; Owner: -
--

CREATE FUNCTION public.audit_trail_refuse() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
BEGIN
  RAISE EXCEPTION 'the audit trail is append-only';
END
$$;


SET default_tablespace = '';

SET default_table_access_method = heap;

--
-- Name: accounts; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.accounts (
    person text NOT NULL COLLATE pg_catalog."C",
    organization text NOT NULL COLLATE pg_catalog."C",
    name text NOT NULL COLLATE pg_catalog."C",
    login text NOT NULL COLLATE pg_catalog."C",
    role text NOT NULL COLLATE pg_catalog."C",
    active bigint NOT NULL,
    version bigint NOT NULL,
    passphrase_hash text NOT NULL COLLATE pg_catalog."C",
    created_at text NOT NULL COLLATE pg_catalog."C",
    changed_at text NOT NULL COLLATE pg_catalog."C",
    signed_in_at text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT accounts_active_check CHECK ((active = ANY (ARRAY[(0)::bigint, (1)::bigint]))),
    CONSTRAINT accounts_role_check CHECK ((role = ANY (ARRAY['owner'::text, 'practitioner'::text, 'assistant'::text, 'athlete'::text, 'reviewer'::text])))
);


--
-- Name: api_tokens; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.api_tokens (
    id text NOT NULL COLLATE pg_catalog."C",
    digest text NOT NULL COLLATE pg_catalog."C",
    person text NOT NULL COLLATE pg_catalog."C",
    name text NOT NULL COLLATE pg_catalog."C",
    scopes text NOT NULL COLLATE pg_catalog."C",
    created_at text NOT NULL COLLATE pg_catalog."C",
    expires_at text NOT NULL COLLATE pg_catalog."C",
    used_at text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: athlete_counts; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.athlete_counts (
    organization text NOT NULL COLLATE pg_catalog."C",
    view text NOT NULL COLLATE pg_catalog."C",
    day text NOT NULL COLLATE pg_catalog."C",
    athletes bigint NOT NULL
);


--
-- Name: athlete_tags; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.athlete_tags (
    organization text NOT NULL COLLATE pg_catalog."C",
    tag text NOT NULL COLLATE pg_catalog."C",
    athlete text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: athlete_words; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.athlete_words (
    organization text NOT NULL COLLATE pg_catalog."C",
    word text NOT NULL COLLATE pg_catalog."C",
    athlete text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: athletes; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.athletes (
    record text NOT NULL COLLATE pg_catalog."C",
    organization text NOT NULL COLLATE pg_catalog."C",
    state text NOT NULL COLLATE pg_catalog."C",
    version bigint NOT NULL,
    changed_at text NOT NULL COLLATE pg_catalog."C",
    taken_in text NOT NULL COLLATE pg_catalog."C",
    name text NOT NULL COLLATE pg_catalog."C",
    name_folded text NOT NULL COLLATE pg_catalog."C",
    birth_date text NOT NULL COLLATE pg_catalog."C",
    sex text NOT NULL COLLATE pg_catalog."C",
    tags text NOT NULL COLLATE pg_catalog."C",
    counted text NOT NULL COLLATE pg_catalog."C",
    last_visit text NOT NULL COLLATE pg_catalog."C",
    last_session text NOT NULL COLLATE pg_catalog."C",
    next_due text NOT NULL COLLATE pg_catalog."C",
    due_what text NOT NULL COLLATE pg_catalog."C",
    stalled_from text NOT NULL COLLATE pg_catalog."C",
    last_trunk_deg double precision,
    last_trunk_error_deg double precision
);


--
-- Name: audit_head; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.audit_head (
    only_one bigint NOT NULL,
    sequence bigint NOT NULL,
    hash text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT audit_head_only_one_check CHECK ((only_one = 1))
);


--
-- Name: audit_trail; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.audit_trail (
    sequence bigint NOT NULL,
    organization text NOT NULL COLLATE pg_catalog."C",
    at text NOT NULL COLLATE pg_catalog."C",
    person text NOT NULL COLLATE pg_catalog."C",
    session text NOT NULL COLLATE pg_catalog."C",
    peer text NOT NULL COLLATE pg_catalog."C",
    action text NOT NULL COLLATE pg_catalog."C",
    record text NOT NULL COLLATE pg_catalog."C",
    athlete text NOT NULL COLLATE pg_catalog."C",
    detail text NOT NULL COLLATE pg_catalog."C",
    previous_hash text NOT NULL COLLATE pg_catalog."C",
    hash text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: drill_sessions; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.drill_sessions (
    record text NOT NULL COLLATE pg_catalog."C",
    organization text NOT NULL COLLATE pg_catalog."C",
    athlete text NOT NULL COLLATE pg_catalog."C",
    drill text NOT NULL COLLATE pg_catalog."C",
    date text NOT NULL COLLATE pg_catalog."C",
    sets bigint NOT NULL,
    minutes double precision NOT NULL,
    pain bigint
);


--
-- Name: due_dates; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.due_dates (
    record text NOT NULL COLLATE pg_catalog."C",
    athlete text NOT NULL COLLATE pg_catalog."C",
    what text NOT NULL COLLATE pg_catalog."C",
    date text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: hand_offs; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.hand_offs (
    id text NOT NULL COLLATE pg_catalog."C",
    organization text NOT NULL COLLATE pg_catalog."C",
    athlete text NOT NULL COLLATE pg_catalog."C",
    visit text NOT NULL COLLATE pg_catalog."C",
    created_by text NOT NULL COLLATE pg_catalog."C",
    creator_role text NOT NULL COLLATE pg_catalog."C",
    secret_sha256 text NOT NULL COLLATE pg_catalog."C",
    created_at text NOT NULL COLLATE pg_catalog."C",
    expires_at text NOT NULL COLLATE pg_catalog."C",
    spent_at text NOT NULL COLLATE pg_catalog."C",
    trial text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: invitations; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.invitations (
    person text NOT NULL COLLATE pg_catalog."C",
    digest text NOT NULL COLLATE pg_catalog."C",
    created_at text NOT NULL COLLATE pg_catalog."C",
    expires_at text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: jobs; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.jobs (
    id text NOT NULL COLLATE pg_catalog."C",
    sequence bigint NOT NULL,
    kind text NOT NULL COLLATE pg_catalog."C",
    organization text NOT NULL COLLATE pg_catalog."C",
    athlete text NOT NULL COLLATE pg_catalog."C",
    record text NOT NULL COLLATE pg_catalog."C",
    created_by text NOT NULL COLLATE pg_catalog."C",
    input text NOT NULL COLLATE pg_catalog."C",
    output text NOT NULL COLLATE pg_catalog."C",
    state text NOT NULL COLLATE pg_catalog."C",
    attempts bigint NOT NULL,
    not_before text NOT NULL COLLATE pg_catalog."C",
    lease_owner text NOT NULL COLLATE pg_catalog."C",
    lease_until text NOT NULL COLLATE pg_catalog."C",
    cancel_asked bigint NOT NULL,
    stage text NOT NULL COLLATE pg_catalog."C",
    done double precision NOT NULL,
    total double precision NOT NULL,
    error_code text NOT NULL COLLATE pg_catalog."C",
    error_message text NOT NULL COLLATE pg_catalog."C",
    error_mend text NOT NULL COLLATE pg_catalog."C",
    created_at text NOT NULL COLLATE pg_catalog."C",
    changed_at text NOT NULL COLLATE pg_catalog."C",
    started_at text NOT NULL COLLATE pg_catalog."C",
    finished_at text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT jobs_state_check CHECK ((state = ANY (ARRAY['waiting'::text, 'running'::text, 'done'::text, 'failed'::text, 'cancelled'::text])))
);


--
-- Name: media_references; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.media_references (
    record text NOT NULL COLLATE pg_catalog."C",
    sha256 text NOT NULL COLLATE pg_catalog."C",
    bytes bigint NOT NULL,
    media_type text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: name_words; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.name_words (
    organization text NOT NULL COLLATE pg_catalog."C",
    word text NOT NULL COLLATE pg_catalog."C",
    ending text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: once_keys; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.once_keys (
    once_key text NOT NULL COLLATE pg_catalog."C",
    organization text NOT NULL COLLATE pg_catalog."C",
    content text NOT NULL COLLATE pg_catalog."C",
    answer text NOT NULL COLLATE pg_catalog."C",
    at text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: record_versions; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.record_versions (
    record text NOT NULL COLLATE pg_catalog."C",
    version bigint NOT NULL,
    state text NOT NULL COLLATE pg_catalog."C",
    changed_at text NOT NULL COLLATE pg_catalog."C",
    changed_by text NOT NULL COLLATE pg_catalog."C",
    reason text NOT NULL COLLATE pg_catalog."C",
    sha256 text NOT NULL COLLATE pg_catalog."C",
    document text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT record_versions_version_check CHECK ((version >= 1))
);


--
-- Name: records; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.records (
    id text NOT NULL COLLATE pg_catalog."C",
    kind text NOT NULL COLLATE pg_catalog."C",
    organization text NOT NULL COLLATE pg_catalog."C",
    athlete text COLLATE pg_catalog."C",
    parent text COLLATE pg_catalog."C",
    version bigint NOT NULL,
    state text NOT NULL COLLATE pg_catalog."C",
    date text NOT NULL COLLATE pg_catalog."C",
    created_at text NOT NULL COLLATE pg_catalog."C",
    created_by text NOT NULL COLLATE pg_catalog."C",
    changed_at text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT records_state_check CHECK ((state = ANY (ARRAY['active'::text, 'archived'::text, 'withdrawn'::text]))),
    CONSTRAINT records_version_check CHECK ((version >= 1))
);


--
-- Name: schema_migration; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.schema_migration (
    version bigint NOT NULL,
    sha256 text NOT NULL,
    applied_at text NOT NULL
);


--
-- Name: sessions; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.sessions (
    id text NOT NULL COLLATE pg_catalog."C",
    digest text NOT NULL COLLATE pg_catalog."C",
    person text NOT NULL COLLATE pg_catalog."C",
    created_at text NOT NULL COLLATE pg_catalog."C",
    seen_at text NOT NULL COLLATE pg_catalog."C",
    expires_at text NOT NULL COLLATE pg_catalog."C",
    peer text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: sign_in_attempts; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.sign_in_attempts (
    attempt_key text NOT NULL COLLATE pg_catalog."C",
    count bigint NOT NULL,
    first_at text NOT NULL COLLATE pg_catalog."C",
    wait_until text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: test_results; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.test_results (
    record text NOT NULL COLLATE pg_catalog."C",
    organization text NOT NULL COLLATE pg_catalog."C",
    athlete text NOT NULL COLLATE pg_catalog."C",
    protocol text NOT NULL COLLATE pg_catalog."C",
    side text NOT NULL COLLATE pg_catalog."C",
    date text NOT NULL COLLATE pg_catalog."C",
    unit text NOT NULL COLLATE pg_catalog."C",
    value double precision NOT NULL,
    standard_error double precision NOT NULL
);


--
-- Name: trial_measures; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.trial_measures (
    record text NOT NULL COLLATE pg_catalog."C",
    organization text NOT NULL COLLATE pg_catalog."C",
    athlete text NOT NULL COLLATE pg_catalog."C",
    measure text NOT NULL COLLATE pg_catalog."C",
    date text NOT NULL COLLATE pg_catalog."C",
    unit text NOT NULL COLLATE pg_catalog."C",
    value double precision NOT NULL,
    standard_error double precision NOT NULL
);


--
-- Name: uploads; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.uploads (
    id text NOT NULL COLLATE pg_catalog."C",
    organization text NOT NULL COLLATE pg_catalog."C",
    created_by text NOT NULL COLLATE pg_catalog."C",
    hand_off text NOT NULL COLLATE pg_catalog."C",
    athlete text NOT NULL COLLATE pg_catalog."C",
    name text NOT NULL COLLATE pg_catalog."C",
    bytes bigint NOT NULL,
    expected_sha256 text NOT NULL COLLATE pg_catalog."C",
    sha256 text NOT NULL COLLATE pg_catalog."C",
    media_type text NOT NULL COLLATE pg_catalog."C",
    created_at text NOT NULL COLLATE pg_catalog."C",
    expires_at text NOT NULL COLLATE pg_catalog."C"
);


--
-- Data for Name: accounts; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: api_tokens; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: athlete_counts; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.athlete_counts VALUES ('11111111-1111-4111-8111-111111111111', 'active', '', 1);
INSERT INTO public.athlete_counts VALUES ('11111111-1111-4111-8111-111111111111', 'new', '2026-03-09', 1);
INSERT INTO public.athlete_counts VALUES ('11111111-1111-4111-8111-111111111111', 'stalled', '2026-04-21', 1);


--
-- Data for Name: athlete_tags; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.athlete_tags VALUES ('11111111-1111-4111-8111-111111111111', 'masters', '22222222-2222-4222-8222-222222222222');


--
-- Data for Name: athlete_words; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.athlete_words VALUES ('11111111-1111-4111-8111-111111111111', 'ansa', '22222222-2222-4222-8222-222222222222');
INSERT INTO public.athlete_words VALUES ('11111111-1111-4111-8111-111111111111', 'brinvik', '22222222-2222-4222-8222-222222222222');


--
-- Data for Name: athletes; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.athletes VALUES ('22222222-2222-4222-8222-222222222222', '11111111-1111-4111-8111-111111111111', 'active', 2, '2026-03-09T07:05:30.123Z', '2026-03-09', 'Ansa Brinvik', 'ansa brinvik', '1994-05-17', 'female', 'masters', 'active 
new 2026-03-09
stalled 2026-04-21
', '', '', '', '', '2026-04-21', NULL, NULL);


--
-- Data for Name: audit_head; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.audit_head VALUES (1, 0, '0000000000000000000000000000000000000000000000000000000000000000');


--
-- Data for Name: audit_trail; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: drill_sessions; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: due_dates; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: hand_offs; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: invitations; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: jobs; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: media_references; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.media_references VALUES ('33333333-3333-4333-8333-333333333333', 'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa', 7, 'image/png');


--
-- Data for Name: name_words; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.name_words VALUES ('11111111-1111-4111-8111-111111111111', 'ansa', 'ansa');
INSERT INTO public.name_words VALUES ('11111111-1111-4111-8111-111111111111', 'ansa', 'nsa');
INSERT INTO public.name_words VALUES ('11111111-1111-4111-8111-111111111111', 'ansa', 'sa');
INSERT INTO public.name_words VALUES ('11111111-1111-4111-8111-111111111111', 'ansa', 'a');
INSERT INTO public.name_words VALUES ('11111111-1111-4111-8111-111111111111', 'brinvik', 'brinvik');
INSERT INTO public.name_words VALUES ('11111111-1111-4111-8111-111111111111', 'brinvik', 'rinvik');
INSERT INTO public.name_words VALUES ('11111111-1111-4111-8111-111111111111', 'brinvik', 'invik');
INSERT INTO public.name_words VALUES ('11111111-1111-4111-8111-111111111111', 'brinvik', 'nvik');
INSERT INTO public.name_words VALUES ('11111111-1111-4111-8111-111111111111', 'brinvik', 'vik');
INSERT INTO public.name_words VALUES ('11111111-1111-4111-8111-111111111111', 'brinvik', 'ik');
INSERT INTO public.name_words VALUES ('11111111-1111-4111-8111-111111111111', 'brinvik', 'k');


--
-- Data for Name: once_keys; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: record_versions; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.record_versions VALUES ('11111111-1111-4111-8111-111111111111', 1, 'active', '2026-03-09T07:05:30.123Z', 'runa', '', 'be9767fddb0cb88633d34f19d304e60c936f0ae02086554cecf4e6f753aecb58', '{"name":"Skarnholm"}');
INSERT INTO public.record_versions VALUES ('22222222-2222-4222-8222-222222222222', 1, 'active', '2026-03-09T07:05:30.123Z', 'runa', '', '2b56d81a480401c568c1a511009c467eb89369b6a5e40c24db98fe73e85a1b35', '{"name":"Ansa Brinvik"}');
INSERT INTO public.record_versions VALUES ('22222222-2222-4222-8222-222222222222', 2, 'active', '2026-03-09T07:05:30.123Z', 'runa', 'spelling', '6813df4519f9a7fd9c91a7cd07fb6595d84a419b2b09e3c0eabec7445efadffa', '{"name":"Ansa Brïnvik"}');
INSERT INTO public.record_versions VALUES ('33333333-3333-4333-8333-333333333333', 1, 'active', '2026-03-09T07:05:30.123Z', 'runa', '', '44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a', '{}');


--
-- Data for Name: records; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.records VALUES ('11111111-1111-4111-8111-111111111111', 'organization', '11111111-1111-4111-8111-111111111111', NULL, NULL, 1, 'active', '', '2026-03-09T07:05:30.123Z', 'runa', '2026-03-09T07:05:30.123Z');
INSERT INTO public.records VALUES ('22222222-2222-4222-8222-222222222222', 'athlete', '11111111-1111-4111-8111-111111111111', '22222222-2222-4222-8222-222222222222', NULL, 2, 'active', '', '2026-03-09T07:05:30.123Z', 'runa', '2026-03-09T07:05:30.123Z');
INSERT INTO public.records VALUES ('33333333-3333-4333-8333-333333333333', 'tests', '11111111-1111-4111-8111-111111111111', '22222222-2222-4222-8222-222222222222', '22222222-2222-4222-8222-222222222222', 1, 'active', '2026-03-09', '2026-03-09T07:05:30.123Z', 'runa', '2026-03-09T07:05:30.123Z');


--
-- Data for Name: schema_migration; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.schema_migration VALUES (1, '054630df8cdd57d8091b787668599220568923536575eb83fcb14447e238c190', '2026-11-25T23:43:35Z');
INSERT INTO public.schema_migration VALUES (2, '56dddc834459a8eb967565eb3b818be6a4a415adcd8c985de1651a6230a72419', '2026-11-25T23:43:35Z');
INSERT INTO public.schema_migration VALUES (3, '1392879c66352dc5cecd3633502eae830d1c2f46f7637ab896538049527cef67', '2026-11-25T23:43:35Z');
INSERT INTO public.schema_migration VALUES (4, 'a2f028b17555f0c544ba8de91c1307828810a946a4d33772fc6ce27fb6db0f53', '2026-11-25T23:43:35Z');
INSERT INTO public.schema_migration VALUES (5, '03706533c61d95eca5e93fb8e856cf231de2e0f45750b8d8da10f80462b04f44', '2026-11-25T23:43:35Z');
INSERT INTO public.schema_migration VALUES (6, 'bfcf31f3f5aabb678a3817f993ed7170c9d7546492c51aba8de57c7527db27dd', '2026-11-25T23:43:35Z');


--
-- Data for Name: sessions; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: sign_in_attempts; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: test_results; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.test_results VALUES ('33333333-3333-4333-8333-333333333333', '11111111-1111-4111-8111-111111111111', '22222222-2222-4222-8222-222222222222', 'knee_to_wall_distance', 'left', '2026-03-09', 'cm', 9.5, 0.7);


--
-- Data for Name: trial_measures; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: uploads; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Name: accounts accounts_login_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.accounts
    ADD CONSTRAINT accounts_login_key UNIQUE (login);


--
-- Name: accounts accounts_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.accounts
    ADD CONSTRAINT accounts_pkey PRIMARY KEY (person);


--
-- Name: api_tokens api_tokens_digest_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.api_tokens
    ADD CONSTRAINT api_tokens_digest_key UNIQUE (digest);


--
-- Name: api_tokens api_tokens_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.api_tokens
    ADD CONSTRAINT api_tokens_pkey PRIMARY KEY (id);


--
-- Name: athlete_counts athlete_counts_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.athlete_counts
    ADD CONSTRAINT athlete_counts_pkey PRIMARY KEY (organization, view, day);


--
-- Name: athlete_tags athlete_tags_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.athlete_tags
    ADD CONSTRAINT athlete_tags_pkey PRIMARY KEY (organization, tag, athlete);


--
-- Name: athlete_words athlete_words_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.athlete_words
    ADD CONSTRAINT athlete_words_pkey PRIMARY KEY (organization, word, athlete);


--
-- Name: athletes athletes_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.athletes
    ADD CONSTRAINT athletes_pkey PRIMARY KEY (record);


--
-- Name: audit_head audit_head_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.audit_head
    ADD CONSTRAINT audit_head_pkey PRIMARY KEY (only_one);


--
-- Name: audit_trail audit_trail_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.audit_trail
    ADD CONSTRAINT audit_trail_pkey PRIMARY KEY (sequence);


--
-- Name: hand_offs hand_offs_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.hand_offs
    ADD CONSTRAINT hand_offs_pkey PRIMARY KEY (id);


--
-- Name: hand_offs hand_offs_secret_sha256_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.hand_offs
    ADD CONSTRAINT hand_offs_secret_sha256_key UNIQUE (secret_sha256);


--
-- Name: invitations invitations_digest_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.invitations
    ADD CONSTRAINT invitations_digest_key UNIQUE (digest);


--
-- Name: invitations invitations_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.invitations
    ADD CONSTRAINT invitations_pkey PRIMARY KEY (person);


--
-- Name: jobs jobs_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.jobs
    ADD CONSTRAINT jobs_pkey PRIMARY KEY (id);


--
-- Name: media_references media_references_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.media_references
    ADD CONSTRAINT media_references_pkey PRIMARY KEY (record, sha256);


--
-- Name: name_words name_words_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.name_words
    ADD CONSTRAINT name_words_pkey PRIMARY KEY (organization, word, ending);


--
-- Name: once_keys once_keys_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.once_keys
    ADD CONSTRAINT once_keys_pkey PRIMARY KEY (once_key);


--
-- Name: record_versions record_versions_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.record_versions
    ADD CONSTRAINT record_versions_pkey PRIMARY KEY (record, version);


--
-- Name: records records_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.records
    ADD CONSTRAINT records_pkey PRIMARY KEY (id);


--
-- Name: schema_migration schema_migration_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.schema_migration
    ADD CONSTRAINT schema_migration_pkey PRIMARY KEY (version);


--
-- Name: sessions sessions_digest_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.sessions
    ADD CONSTRAINT sessions_digest_key UNIQUE (digest);


--
-- Name: sessions sessions_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.sessions
    ADD CONSTRAINT sessions_pkey PRIMARY KEY (id);


--
-- Name: sign_in_attempts sign_in_attempts_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.sign_in_attempts
    ADD CONSTRAINT sign_in_attempts_pkey PRIMARY KEY (attempt_key);


--
-- Name: uploads uploads_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.uploads
    ADD CONSTRAINT uploads_pkey PRIMARY KEY (id);


--
-- Name: accounts_of_organization; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX accounts_of_organization ON public.accounts USING btree (organization, name);


--
-- Name: api_tokens_of_person; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX api_tokens_of_person ON public.api_tokens USING btree (person);


--
-- Name: athlete_tags_of_athlete; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX athlete_tags_of_athlete ON public.athlete_tags USING btree (athlete);


--
-- Name: athlete_words_of_athlete; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX athlete_words_of_athlete ON public.athlete_words USING btree (athlete);


--
-- Name: athletes_by_due; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX athletes_by_due ON public.athletes USING btree (organization, state, next_due, name_folded, record);


--
-- Name: athletes_by_name; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX athletes_by_name ON public.athletes USING btree (organization, state, name_folded, record, taken_in, stalled_from, next_due);


--
-- Name: athletes_by_stalled; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX athletes_by_stalled ON public.athletes USING btree (organization, state, stalled_from);


--
-- Name: athletes_by_taken_in; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX athletes_by_taken_in ON public.athletes USING btree (organization, state, taken_in);


--
-- Name: audit_trail_of_athlete; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX audit_trail_of_athlete ON public.audit_trail USING btree (athlete, sequence);


--
-- Name: audit_trail_of_organization; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX audit_trail_of_organization ON public.audit_trail USING btree (organization, sequence);


--
-- Name: audit_trail_of_session; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX audit_trail_of_session ON public.audit_trail USING btree (session, record, action, at);


--
-- Name: drill_sessions_of_drill; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX drill_sessions_of_drill ON public.drill_sessions USING btree (organization, drill, athlete, date);


--
-- Name: drill_sessions_of_record; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX drill_sessions_of_record ON public.drill_sessions USING btree (record);


--
-- Name: due_dates_of_athlete; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX due_dates_of_athlete ON public.due_dates USING btree (athlete, date);


--
-- Name: due_dates_of_record; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX due_dates_of_record ON public.due_dates USING btree (record);


--
-- Name: hand_offs_by_expiry; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX hand_offs_by_expiry ON public.hand_offs USING btree (expires_at);


--
-- Name: jobs_of_athlete; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX jobs_of_athlete ON public.jobs USING btree (athlete);


--
-- Name: jobs_of_organization; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX jobs_of_organization ON public.jobs USING btree (organization, sequence);


--
-- Name: jobs_of_record; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX jobs_of_record ON public.jobs USING btree (record);


--
-- Name: jobs_to_take; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX jobs_to_take ON public.jobs USING btree (state, not_before, sequence);


--
-- Name: media_references_by_digest; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX media_references_by_digest ON public.media_references USING btree (sha256);


--
-- Name: name_words_by_ending; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX name_words_by_ending ON public.name_words USING btree (organization, ending, word);


--
-- Name: once_keys_by_time; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX once_keys_by_time ON public.once_keys USING btree (at);


--
-- Name: once_keys_of_organization; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX once_keys_of_organization ON public.once_keys USING btree (organization);


--
-- Name: records_of_athlete; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX records_of_athlete ON public.records USING btree (athlete, date, created_at, id);


--
-- Name: records_of_athlete_by_kind; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX records_of_athlete_by_kind ON public.records USING btree (athlete, kind, state, date);


--
-- Name: records_of_organization; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX records_of_organization ON public.records USING btree (organization, kind, date, created_at, id);


--
-- Name: records_of_parent; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX records_of_parent ON public.records USING btree (parent, date, created_at, id);


--
-- Name: sessions_by_expiry; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX sessions_by_expiry ON public.sessions USING btree (expires_at);


--
-- Name: sessions_of_person; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX sessions_of_person ON public.sessions USING btree (person);


--
-- Name: sign_in_attempts_by_time; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX sign_in_attempts_by_time ON public.sign_in_attempts USING btree (first_at);


--
-- Name: test_results_of_athlete; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX test_results_of_athlete ON public.test_results USING btree (athlete, protocol, side, date);


--
-- Name: test_results_of_protocol; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX test_results_of_protocol ON public.test_results USING btree (organization, protocol, athlete, side, date);


--
-- Name: test_results_of_record; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX test_results_of_record ON public.test_results USING btree (record);


--
-- Name: trial_measures_of_athlete; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX trial_measures_of_athlete ON public.trial_measures USING btree (athlete, measure, date);


--
-- Name: trial_measures_of_record; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX trial_measures_of_record ON public.trial_measures USING btree (record);


--
-- Name: uploads_by_digest; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX uploads_by_digest ON public.uploads USING btree (sha256);


--
-- Name: uploads_by_expiry; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX uploads_by_expiry ON public.uploads USING btree (expires_at);


--
-- Name: uploads_of_person; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX uploads_of_person ON public.uploads USING btree (organization, created_by);


--
-- Name: audit_trail audit_trail_keeps_rows; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER audit_trail_keeps_rows BEFORE DELETE OR UPDATE ON public.audit_trail FOR EACH ROW EXECUTE FUNCTION public.audit_trail_refuse();


--
-- Name: audit_trail audit_trail_loses_no_rows; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER audit_trail_loses_no_rows BEFORE TRUNCATE ON public.audit_trail FOR EACH STATEMENT EXECUTE FUNCTION public.audit_trail_refuse();


--
-- Name: api_tokens api_tokens_person_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.api_tokens
    ADD CONSTRAINT api_tokens_person_fkey FOREIGN KEY (person) REFERENCES public.accounts(person) ON DELETE CASCADE;


--
-- Name: athlete_tags athlete_tags_athlete_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.athlete_tags
    ADD CONSTRAINT athlete_tags_athlete_fkey FOREIGN KEY (athlete) REFERENCES public.athletes(record) ON DELETE CASCADE;


--
-- Name: athlete_words athlete_words_athlete_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.athlete_words
    ADD CONSTRAINT athlete_words_athlete_fkey FOREIGN KEY (athlete) REFERENCES public.athletes(record) ON DELETE CASCADE;


--
-- Name: athletes athletes_record_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.athletes
    ADD CONSTRAINT athletes_record_fkey FOREIGN KEY (record) REFERENCES public.records(id) ON DELETE CASCADE;


--
-- Name: drill_sessions drill_sessions_record_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.drill_sessions
    ADD CONSTRAINT drill_sessions_record_fkey FOREIGN KEY (record) REFERENCES public.records(id) ON DELETE CASCADE;


--
-- Name: due_dates due_dates_record_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.due_dates
    ADD CONSTRAINT due_dates_record_fkey FOREIGN KEY (record) REFERENCES public.records(id) ON DELETE CASCADE;


--
-- Name: invitations invitations_person_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.invitations
    ADD CONSTRAINT invitations_person_fkey FOREIGN KEY (person) REFERENCES public.accounts(person) ON DELETE CASCADE;


--
-- Name: media_references media_references_record_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.media_references
    ADD CONSTRAINT media_references_record_fkey FOREIGN KEY (record) REFERENCES public.records(id) ON DELETE CASCADE;


--
-- Name: record_versions record_versions_record_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.record_versions
    ADD CONSTRAINT record_versions_record_fkey FOREIGN KEY (record) REFERENCES public.records(id) ON DELETE CASCADE;


--
-- Name: records records_athlete_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.records
    ADD CONSTRAINT records_athlete_fkey FOREIGN KEY (athlete) REFERENCES public.records(id);


--
-- Name: records records_parent_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.records
    ADD CONSTRAINT records_parent_fkey FOREIGN KEY (parent) REFERENCES public.records(id);


--
-- Name: sessions sessions_person_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.sessions
    ADD CONSTRAINT sessions_person_fkey FOREIGN KEY (person) REFERENCES public.accounts(person) ON DELETE CASCADE;


--
-- Name: test_results test_results_record_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.test_results
    ADD CONSTRAINT test_results_record_fkey FOREIGN KEY (record) REFERENCES public.records(id) ON DELETE CASCADE;


--
-- Name: trial_measures trial_measures_record_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.trial_measures
    ADD CONSTRAINT trial_measures_record_fkey FOREIGN KEY (record) REFERENCES public.records(id) ON DELETE CASCADE;


--
-- PostgreSQL database dump complete
--


