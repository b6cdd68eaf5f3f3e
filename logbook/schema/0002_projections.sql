-- Everything here is worked out from the events and may be emptied at any time.

-- Trips whose projection no longer says what their events say.
create table stale (
    trip blob primary key
) without rowid;

-- One trip: its head and catches as JSON, its effort packed in columns.
create table outing (
    trip    blob primary key,
    from_ms integer not null,
    stints  integer not null, -- how many
    effort  blob not null,    -- before the long texts, which reading all effort then skips
    head    text not null,
    catches text not null
);
create index outing_by_from on outing (from_ms);

-- What lines fished, each once. Effort names them by id.
create table setup (
    id         integer primary key,
    attributes text not null unique
);
