// Package pglog keeps a journal in a schema of a PostgreSQL database, for an
// office with many users and several server processes at once.
//
// Every append is one transaction that is durable before it returns, as far as
// the server is (synchronous_commit is switched on where it was off). Entries
// carry a checksum that is compared when they are read, and the database itself
// refuses to change or delete one. The lists of the summary are written in the
// transaction of the append; appends to one stream wait for each other, those
// to different streams do not.
//
// The order of arrival is by transaction and then by number, and readers stay
// behind the oldest transaction still running (see Since). A transaction left
// open in the same database cluster, such as a long dump, so delays what
// readers of Since see, and loses nothing.
//
// Backups are those of the database: pg_dump of the schema. A restored journal
// is recognised when it is opened, and cursors made by the original are refused.
//
// The package is empty in the browser, which opens no connections.
package pglog
