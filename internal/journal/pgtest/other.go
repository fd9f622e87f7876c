//go:build !unix

package pgtest

import (
	"os"
	"testing"
)

// Main runs the tests.
func Main(m *testing.M) int { return m.Run() }

// URL returns the address of a server. A test that cannot have one is skipped,
// and says why.
func URL(t testing.TB) string {
	t.Helper()
	url := os.Getenv("TEST_POSTGRES_URL")
	if url == "" {
		t.Skip("no PostgreSQL server: set TEST_POSTGRES_URL")
	}
	return url
}
