-- The journal. seq is the order of arrival in this file and means nothing
-- elsewhere; sum is a checksum over the other columns.
create table envelope (
	seq     integer primary key,
	id      blob    not null unique check (length(id) = 16),
	stream  text    not null,
	device  text    not null,
	time    integer not null,
	author  text    not null,
	kind    text    not null,
	version integer not null,
	payload blob    not null,
	sum     integer not null
) strict;

create index envelope_stream on envelope (stream, time, id);

-- Nothing is edited or deleted, not even by mistake.
create trigger envelope_no_update before update on envelope
begin select raise(abort, 'an entry of the journal cannot be changed'); end;

create trigger envelope_no_delete before delete on envelope
begin select raise(abort, 'an entry of the journal cannot be deleted'); end;

-- Lists: views made from the journal, thrown away and rebuilt at will.
create table list_row (
	list   text not null,
	key    text not null,
	stream text not null,
	value  blob not null,
	primary key (list, key, stream)
) strict, without rowid;

create index list_row_stream on list_row (stream);

create table list_state (
	one     integer primary key check (one = 1),
	version text not null
) strict;
