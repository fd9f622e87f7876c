-- Blobs beside the journal: photos, each under the SHA-256 of its bytes. The
-- hash is an index of its own, so that asking which are there reads no picture.
create table blob (
	number  integer primary key,
	hash    blob not null unique check (length(hash) = 32),
	content blob not null
) strict;

create trigger blob_no_update before update on blob
begin select raise(abort, 'a blob cannot be changed'); end;

create trigger blob_no_delete before delete on blob
begin select raise(abort, 'a blob cannot be deleted'); end;
