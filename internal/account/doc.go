// Package account holds who may do what on the server of a shop: people with
// their roles, passwords and sessions, and the phones they work with.
//
// Accounts live in a journal of their own, beside the journal of the work: the
// same stores keep it (a second SQLite file, a second PostgreSQL schema), so
// that durability, several servers at once and a trail of who changed what come
// with it, and what phones exchange can never hold a secret, because it is not
// in that journal at all. Conditions such as "this name is new" and "this code
// was not used yet" are ids derived from what must be unique: a second entry
// with such an id is a conflict for the store.
//
// Every session, code and phone is a stream of its own, found by the SHA-256 of
// its secret; the secrets themselves are not kept. A look-up always sees what
// any server has recorded, so a revoked phone is revoked everywhere at once.
//
// What a person is at the unit, role and licences, is told from here to the
// work as a record.Person; nothing else keeps it. The package runs on the server
// only.
package account
