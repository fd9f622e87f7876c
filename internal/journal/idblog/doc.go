// Package idblog keeps a journal in the browser, in one IndexedDB database: the
// store of a phone that works without signal.
//
// What was acknowledged is on disk: an append is one transaction of strict
// durability, and Append returns after its complete event. Several programs of
// one origin, such as an old and a new worker, may use the database at once,
// since IndexedDB lets one of them write at a time.
//
// A browser may leave a request without any answer. So no call waits longer
// than Limit for the next event, and what failed says journal.ErrStorage. Time
// in which this program computes does not count, because no event can come in.
//
// Everything but this comment builds for the browser only, and so do the
// tests: a test of the other side builds them and runs them in Chromium.
package idblog
