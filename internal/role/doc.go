// Package role says what a person of the shop may do: which form he may send,
// and which entry he may write. It knows no passwords and no store, so that the
// program in a phone without signal holds to the same tables as the server.
//
// Two tables say the same thing from two sides. Rules (rules.go) is asked before
// a page or a form, on the server and in the phone. Kinds (kinds.go) is asked
// when entries come in from elsewhere, where nobody saw the form.
package role
