-- The journal. (xid, seq) is the order of arrival in this database and means
-- nothing elsewhere: xid is the transaction that wrote the entry, seq its place
-- within it. A reader takes only what is older than every transaction still
-- running, so nothing can appear later before a place that it has passed; seq
-- alone would not do, for it is given out before the commit.
-- sum is a checksum over the other columns.
create table envelope (
	seq     bigint  generated always as identity primary key,
	xid     xid8    not null default pg_current_xact_id(),
	id      bytea   not null unique check (octet_length(id) = 16),
	stream  text    collate "C" not null,
	device  text    not null,
	time    bigint  not null,
	author  text    not null,
	kind    text    not null,
	version integer not null,
	payload bytea   not null,
	sum     bigint  not null
);

create index envelope_arrival on envelope (xid, seq);
create index envelope_stream on envelope (stream, time, id);

-- Nothing is edited or deleted, not even by mistake. One thing may change: in a
-- database restored elsewhere the numbers of transactions begin anew, and those
-- of the entries are set to nought.
create function envelope_keep() returns trigger language plpgsql as $$
begin
	if tg_op = 'UPDATE' and new.xid = '0'::xid8
		and (new.seq, new.id, new.stream, new.device, new.time, new.author, new.kind, new.version, new.payload, new.sum)
		= (old.seq, old.id, old.stream, old.device, old.time, old.author, old.kind, old.version, old.payload, old.sum) then
		return new;
	end if;
	raise exception 'an entry of the journal cannot be changed or deleted';
end $$;

create trigger envelope_keep before update or delete on envelope
	for each row execute function envelope_keep();
create trigger envelope_keep_all before truncate on envelope
	for each statement execute function envelope_keep();

-- Lists: views made from the journal, thrown away and rebuilt at will. Keys are
-- bytes, so that they sort as everywhere else.
create table list_row (
	list   text  not null,
	key    bytea not null,
	stream text  collate "C" not null,
	value  bytea not null,
	primary key (list, key, stream)
);

create index list_row_stream on list_row (stream);

create table list_state (
	one     integer primary key check (one = 1),
	version text not null
);
