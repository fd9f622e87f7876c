package memlog

import (
	"testing"

	"rung/internal/blob"
	"rung/internal/blob/blobtest"
	"rung/internal/journal"
)

func TestBlobs(t *testing.T) {
	blobtest.Run(t, func(testing.TB) blob.Store { return New(journal.Summary{}).Blobs() })
}
