package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"net/http"
	"path/filepath"
	"testing"
	"time"

	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/journal/memlog"
)

// pocket keeps the state of a phone's exchange in memory.
type pocket struct{ text []byte }

func (p *pocket) Load(context.Context) ([]byte, error) { return p.text, nil }
func (p *pocket) Save(_ context.Context, text []byte) error {
	p.text = text
	return nil
}

// phone is a phone that exchanges with a server.
type phone struct {
	*exchange.Client
	log   *memlog.Log
	ids   *journal.IDSource
	clock *journal.Clock
}

func newPhone(name string) *phone {
	p := &phone{log: memlog.New(journal.Summary{}), ids: journal.NewIDSource(time.Now, rand.Reader), clock: journal.NewClock(time.Now)}
	p.Client = exchange.NewClient(p.log, &pocket{}, name, time.Now)
	return p
}

// write records n entries on the phone.
func (p *phone) write(t *testing.T, device string, n int) {
	t.Helper()
	var batch []journal.Envelope
	for range n {
		batch = append(batch, journal.Envelope{ID: p.ids.Next(), Stream: "shop", Device: device, Author: device, Time: p.clock.Next(),
			Kind: "something-noted", Version: 1, Payload: make([]byte, 1000)})
	}
	if err := p.log.Append(t.Context(), batch); err != nil {
		t.Fatal(err)
	}
}

// killing is a way to a server that is killed while its left-th request from now
// is on its way.
type killing struct {
	exchange.Transport
	left int
	kill func()
}

func (k *killing) Post(ctx context.Context, body []byte) (int, []byte, error) {
	if k.left--; k.left == 0 {
		go k.kill()
	}
	return k.Transport.Post(ctx, body)
}

// everything returns the ids of what a log holds.
func everything(t *testing.T, log journal.Log) map[journal.ID]bool {
	t.Helper()
	list, _, err := log.Since(t.Context(), journal.Start, 1_000_000)
	if err != nil {
		t.Fatal(err)
	}
	ids := map[journal.ID]bool{}
	for _, e := range list {
		ids[e.ID] = true
	}
	return ids
}

// TestKilledInExchange kills the server again and again while phones exchange
// with it, and opens its file anew: what it acknowledged is there for a phone
// that comes new, and in the end every phone has everything.
func TestKilledInExchange(t *testing.T) {
	s := &server{t: t, file: filepath.Join(t.TempDir(), "shop.db")}
	s.start()
	network := &http.Client{Timeout: 20 * time.Second}
	phones := map[string]*phone{"a": newPhone("a"), "b": newPhone("b"), "c": newPhone("c")}
	acknowledged := map[journal.ID]bool{}
	broken := 0
	for round := range 12 {
		killed := make(chan struct{})
		process := s.c.Process
		way := &killing{Transport: exchange.HTTP{URL: s.url, Client: network}, left: 1 + round, kill: func() {
			process.Kill()
			close(killed)
		}}
		for alive := true; alive; {
			for name, p := range phones {
				p.write(t, name, 20)
				_, err := p.Run(t.Context(), way)
				if err != nil {
					broken++
					alive = false
					continue
				}
				for id := range everything(t, p.log) {
					acknowledged[id] = true
				}
			}
		}
		<-killed
		s.c.Wait()
		s.start()
		fresh := newPhone(fmt.Sprint("new-", round))
		if _, err := fresh.Run(t.Context(), exchange.HTTP{URL: s.url, Client: network}); err != nil {
			t.Fatal(err)
		}
		there := everything(t, fresh.log)
		for id := range acknowledged {
			if !there[id] {
				t.Fatalf("round %d: entry %s was acknowledged and is gone", round, id)
			}
		}
	}
	for range 2 {
		for _, p := range phones {
			if _, err := p.Run(t.Context(), exchange.HTTP{URL: s.url, Client: network}); err != nil {
				t.Fatal(err)
			}
		}
	}
	want := everything(t, phones["a"].log)
	for name, p := range phones {
		status, err := p.Status(t.Context())
		if got := everything(t, p.log); len(got) != len(want) || status.Waiting != 0 || err != nil {
			t.Errorf("phone %s has %d entries, %d waiting, %v; want %d", name, len(got), status.Waiting, err, len(want))
		}
	}
	if len(acknowledged) < 500 || broken < 12 {
		t.Errorf("%d entries acknowledged, %d exchanges broken off: nothing is shown by that", len(acknowledged), broken)
	}
	t.Logf("%d entries acknowledged over 12 kills, %d exchanges broken off", len(acknowledged), broken)
}
