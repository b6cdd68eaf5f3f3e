-- The log itself. Rows are added and never changed; seq is the order of arrival, for
-- handing on what is new.
create table event (
    seq  integer primary key autoincrement,
    id   blob not null unique check (length(id) = 16),
    trip blob not null, -- the trip it belongs to: its own id if it begins one; x'' for none
    of   blob,          -- for a correction or a solution: the event it is about
    kind text not null,
    json text not null
);
create index event_by_trip on event (trip);
create index event_by_of on event (of) where of is not null;

-- An event that differs from another with the same id. Only a fault makes one.
create table clash (
    id   blob not null,
    json text not null,
    primary key (id, json)
) without rowid;

-- A correction that moves an event to another trip.
create table move (
    fix  blob primary key,
    of   blob not null,
    trip blob not null
) without rowid;
create index move_by_trip on move (trip);
create index move_by_of on move (of);

-- A device whose clock was wrong in every trip.
create table clock (
    id blob primary key,
    of text not null
) without rowid;

-- Which devices wrote in which trip.
create table wrote (
    device text not null,
    trip   blob not null,
    primary key (device, trip)
) without rowid;

create table meta (
    key   text primary key,
    value text not null
) without rowid;
