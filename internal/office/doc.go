// Package office is what the server of a shop does beside the work: signing in,
// people and their roles, phones and their codes, and the root that phones are
// told to trust. It runs on the server only, and stands as a guard before the
// pages of the work, which know nothing of it and need no cookie.
//
// Who may do what stands in the tables of package role. As long as there is no account
// and the server is reached from its own machine only, one person works without
// signing in.
package office
