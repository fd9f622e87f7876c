// Package page draws the pages a mechanic works on, from plain structs.
//
// A page struct holds what is to be read, already in words and trade units;
// nothing is computed here, and nothing is fetched. Every page works without
// JavaScript: links, forms, and forms filled in again when something was
// wrong. Pages hold no inline script and no inline style, so that a strict
// Content-Security-Policy can be sent with them.
//
// After an edit of a .templ file run "go tool templ generate ./internal/web/page";
// a test compares.
package page
