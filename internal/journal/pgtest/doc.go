// Package pgtest gives tests a PostgreSQL server: the one that TEST_POSTGRES_URL
// names, else a private one started from the programs installed here, in a
// directory of its own on a socket that nobody else uses.
//
// The private server ends with the test program, however that ends. The package
// is empty where there are no Unix sockets.
package pgtest
