package memlog

import (
	"testing"

	"rung/internal/journal"
	"rung/internal/journal/journaltest"
)

func TestLog(t *testing.T) {
	journaltest.Run(t, func(_ testing.TB, s journal.Summary) journal.Log { return New(s) })
}
