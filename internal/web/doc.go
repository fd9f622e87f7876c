// Package web serves the pages of the program over HTTP.
package web
