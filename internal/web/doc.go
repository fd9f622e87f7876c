// Package web serves the pages of the program over HTTP: plain forms, each
// answered by a redirect to the page that shows what was recorded.
//
// The same handler runs in the server and, compiled for the browser, inside
// the phone. So no page needs a cookie, a session, a script or a state kept
// between requests: what was just done stands in the address, and who works
// comes from Options.Author.
//
// A form that is refused is shown again with everything as typed and the
// mistake beside its field; statuses of mistakes stand in one table, in
// problem.go. Every form carries an id of its own, so that sending it twice is
// one entry.
//
// The pages themselves are in package page, made-up ones to look at in package
// gallery. What is said about the system comes from visit and plant; drawings
// from chart; papers from paperwork.
package web
