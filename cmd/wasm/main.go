//go:build js && wasm

// Command wasm is the whole program for the phone's browser: the same pages and
// the same reasoning as in the server, over a journal in the browser's own
// store. A service worker runs it and hands it every request (see sw.js).
//
// Its first argument is the number under which the worker started it. It keeps
// no state but what is in the store, because the browser stops it at will.
package main

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"syscall/js"
	"time"

	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/journal/idblog"
	"rung/internal/ledger"
	"rung/internal/visit"
	"rung/internal/web"
)

func main() {
	worker, number := js.Global().Get("rung"), os.Args[1]
	b := breath{worker: worker, last: time.Now()}
	log, handler, err := start(context.Background(), worker.Get("shop").String(), b.take)
	if err != nil {
		worker.Call("failed", number, err.Error())
		return
	}
	worker.Call("ready", number, js.FuncOf(func(_ js.Value, args []js.Value) any { return promise(handler, request(args)) }))
	<-log.Done() // another program has the store now, or nobody has; the worker starts anew
}

// breath lets the events of the browser in while the program computes, which it
// does on the one thread there is.
type breath struct {
	worker js.Value
	last   time.Time
}

// slice is how long the program computes in one go. A breath takes some 4 ms,
// the least time for which browsers wait.
const slice = 40 * time.Millisecond

// take takes a breath if it is time, and tells the worker that work goes on.
func (b *breath) take() {
	if time.Since(b.last) < slice {
		return
	}
	b.worker.Call("working")
	time.Sleep(time.Microsecond) // a timer of the browser; Gosched would let no event in
	b.last = time.Now()
}

// shop is what the server says about itself.
type shop struct{ Name, Phone string }

// start opens the store and wires the pages to it.
func start(ctx context.Context, about string, pause func()) (*idblog.Log, http.Handler, error) {
	var s shop
	if err := json.Unmarshal([]byte(about), &s); err != nil {
		return nil, nil, fmt.Errorf("read about the shop: %w", err)
	}
	log, err := idblog.Open(ctx, "rung", ledger.Summary())
	if err != nil {
		return nil, nil, err
	}
	ids := journal.NewIDSource(time.Now, rand.Reader)
	d, err := openDevice(ctx, log, ids)
	if err != nil {
		return nil, nil, err
	}
	visits, err := visit.New(visit.Config{Log: log, Now: time.Now, IDs: ids, Device: d.id, Zone: time.Local, Pause: pause, Ahead: web.Ahead()})
	if err != nil {
		return nil, nil, err
	}
	client := exchange.NewClient(log, keeper{log}, d.id, time.Now)
	pages, err := web.New(web.Options{
		Visits: visits, Now: time.Now, Zone: time.Local, Shop: s.Name, Phone: s.Phone, Device: d, Unsent: unsent(client),
		Enrolled: &web.Enrolment{Client: client, Worker: d.Worker},
		HandOver: &web.HandOver{Log: log, Device: d.id, Client: client, Office: office{}},
	})
	if err != nil {
		return nil, nil, err
	}
	return log, pages.Handler(), nil
}

// device is this phone: a web.Device.
type device struct {
	log    *idblog.Log
	id     string // in the journal
	worker string // who works on it
}

// openDevice reads who this phone is, and gives it a name of its own the first
// time.
func openDevice(ctx context.Context, log *idblog.Log, ids *journal.IDSource) (*device, error) {
	id, err := log.Setting(ctx, "device")
	if err != nil {
		return nil, err
	}
	if id == "" {
		text := ids.Next().String()
		id = "phone-" + text[len(text)-8:]
		if err := log.SetSetting(ctx, "device", id); err != nil {
			return nil, err
		}
	}
	worker, err := log.Setting(ctx, "worker")
	return &device{log, id, worker}, err
}

func (d *device) Name() string                             { return d.id }
func (d *device) Worker() string                           { return d.worker }
func (d *device) Entries(ctx context.Context) (int, error) { return d.log.Entries(ctx) }

// SetWorker keeps who works on this phone.
func (d *device) SetWorker(ctx context.Context, name string) error {
	if err := d.log.SetSetting(ctx, "worker", name); err != nil {
		return err
	}
	d.worker = name
	return nil
}
