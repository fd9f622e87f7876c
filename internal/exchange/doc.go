// Package exchange brings two journals together: a phone's and the office's.
//
// Both are sets of entries, and an exchange makes each hold what the other has
// to give. It is one request, sent again and again until nothing is left on
// either side (Client.Run, Server). Sending one twice, or losing its answer,
// changes nothing. Without any network the same entries travel as a file
// (Bundle) or as a row of codes from screen to camera (Parts, Collect).
//
// # What is kept on the phone
//
// The journal itself is the outbox: State holds how far into the order of
// arrival of the phone's own journal everything was acknowledged, and the
// office's cursor. Entries that came from the office lie in the same order of
// arrival; they are remembered by id until the first place has passed them, so
// that they are not offered back. All of it may be lost: then both sides are
// offered everything once more, and recognise it. Where it lies is the affair
// of a Keeper: a record beside the journal in the same database.
//
// The place moves only over entries that the office said it has, and the
// office's cursor only after what came with it is in the phone's own journal.
// So a stop at any moment costs a repetition and never an entry.
//
// # What is kept at the office
//
// Nothing about any phone: the cursor it gives out holds all (see place). It
// lies behind all that was taken from the phone, or names the last of it. If the
// office's journal does not know the cursor, or does not hold that entry any
// more, it was restored from an older copy; the phone then offers all it has, also what it once got
// from the office, and so mends the office's journal.
//
// # What is taken
//
// Who may write what is judged by a Registrar, with the accounts that this
// package does not know: by the person and phone that an entry names, not by who
// brings it, so that phones can hand over for each other. What is refused is kept
// aside in a stream that stays at the office (Held), and flagged to who brought
// it; the owner decides. In the same answer a device learns how it stands with
// the office (Standing), and keeps that beside the journal.
//
// # What travels
//
// Everything a phone wrote goes to the office. A phone gets what concerns the
// whole shop, the properties with open or recent visits, and those asked for
// (see Policy). Streams below ServerOnly never travel. Kinds of a later program
// travel as they are.
//
// # Photos
//
// Photos are no entries of the journal: entries name them by the SHA-256 of their
// content, and they follow in requests of their own (Client.RunPhotos), because a
// reading must not wait for a picture. A device asks which of those it has the
// office lacks, and which of those it lacks the office holds; then it sends and
// fetches them one by one, the newest first. Each is whole or not there, and
// sending it twice changes nothing, so any loss costs a repetition. The office
// takes only what its own journal names, and gives only photos of properties that
// the device carries. What the office has is remembered by marks in the state,
// which may be lost too: once a day, and after the office was restored, all are
// offered anew. A file holds the newest photos up to MaxBundlePhotos.
package exchange
