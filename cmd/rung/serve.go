package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"syscall"
	"time"

	"rung/internal/cli"
	"rung/internal/demo"
	"rung/internal/exchange"
	"rung/internal/journal/sqlitelog"
	"rung/internal/ledger"
	"rung/internal/web"
)

// serve answers on o.Addr until ctx ends.
func serve(ctx context.Context, o cli.ServeOptions) error {
	log, err := sqlitelog.Open(ctx, o.File, sqlitelog.Options{Summary: ledger.Summary()})
	if err != nil {
		return err
	}
	defer log.Close()
	visits, err := newService(log)
	if err != nil {
		return err
	}
	if o.Demo {
		if err := demo.Load(ctx, visits); err != nil {
			return fmt.Errorf("load the demo shop: %w", err)
		}
	}
	pages, err := web.New(web.Options{
		Visits: visits, Author: func(*http.Request) string { return o.Name },
		Now: time.Now, Zone: time.Local, Shop: o.Shop, Phone: o.Phone, Gallery: o.Gallery,
		HandOver: &web.HandOver{Log: log, Device: deviceName()},
		Exchange: &exchange.Server{Log: log, Now: time.Now},
	})
	if err != nil {
		return err
	}
	return listen(ctx, o, pages.Handler())
}

func listen(ctx context.Context, o cli.ServeOptions, handler http.Handler) error {
	l, err := net.Listen("tcp", o.Addr)
	if errors.Is(err, syscall.EADDRINUSE) {
		return fmt.Errorf("another program answers on %s; choose another address with --addr, such as 127.0.0.1:8090: %w", o.Addr, err)
	}
	if err != nil {
		return err
	}
	server := &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       time.Minute,
		WriteTimeout:      time.Minute,
		IdleTimeout:       2 * time.Minute,
		ErrorLog:          slog.NewLogLogger(slog.Default().Handler(), slog.LevelWarn),
	}
	stopped := make(chan error, 1)
	go func() {
		<-ctx.Done()
		wait, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		stopped <- server.Shutdown(wait)
	}()
	if err := answer(server, l, o); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return <-stopped
}

// answer serves plainly, or with TLS if there is a certificate.
func answer(server *http.Server, l net.Listener, o cli.ServeOptions) error {
	scheme := "http"
	if o.TLSCert != "" {
		scheme = "https"
	}
	fmt.Printf("Rung is at %s://%s  (journal: %s; stop with Ctrl-C)\n", scheme, l.Addr(), o.File)
	if o.TLSCert != "" {
		return server.ServeTLS(l, o.TLSCert, o.TLSKey)
	}
	return server.Serve(l)
}
