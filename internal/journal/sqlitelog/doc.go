// Package sqlitelog keeps a journal in one SQLite file.
//
// Every append is one transaction that is on the disk before it returns
// (write-ahead log, synchronous=FULL). One connection writes, several read;
// a second process may use the same file. Every entry carries a checksum that
// is compared when it is read. The lists of the summary are written in the
// transaction of the append.
//
// The package is empty in the browser, which has no files.
package sqlitelog
