-- Blobs beside the journal: photos, each under the SHA-256 of its bytes. They
-- cannot be packed tighter, so the database does not try.
create table blob (
	hash    bytea primary key check (octet_length(hash) = 32),
	content bytea not null
);
alter table blob alter column content set storage external;

create function blob_keep() returns trigger language plpgsql as $$
begin
	raise exception 'a blob cannot be changed or deleted';
end $$;

create trigger blob_keep before update or delete on blob
	for each row execute function blob_keep();
create trigger blob_keep_all before truncate on blob
	for each statement execute function blob_keep();
