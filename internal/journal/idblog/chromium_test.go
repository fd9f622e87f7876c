//go:build !js

package idblog

import (
	"context"
	_ "embed"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"
)

//go:embed testdata/run.html
var runPage string

// chromium returns a browser, or ends the test: skipped, and failed where
// REQUIRE_ALL is 1.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{os.Getenv("CHROMIUM"), "google-chrome", "chromium-browser", "chromium"} {
		if path, err := exec.LookPath(name); name != "" && err == nil {
			return path
		}
	}
	if os.Getenv("REQUIRE_ALL") == "1" {
		t.Fatal("chromium is missing, and REQUIRE_ALL=1 forbids to skip")
	}
	t.Skip("SKIPPED: chromium is missing; .ci/run installs it")
	return ""
}

// startBrowser returns a context of one with a fresh profile.
func startBrowser(t *testing.T) context.Context {
	t.Helper()
	options := []chromedp.ExecAllocatorOption{chromedp.ExecPath(chromium(t)), chromedp.UserDataDir(t.TempDir()), chromedp.Headless, chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck}
	for _, flag := range []string{"disable-dev-shm-usage", "disable-background-networking", "disable-component-update", "disable-sync", "disable-quic"} {
		options = append(options, chromedp.Flag(flag, true))
	}
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(cancel)
	ctx, stop := chromedp.NewContext(ctx, chromedp.WithErrorf(t.Logf))
	t.Cleanup(stop)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// program builds the tests of this package for the browser and serves the page
// that runs them.
func program(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	build := exec.Command("go", "test", "-c", "-trimpath", "-o", filepath.Join(dir, "test.wasm"), ".")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build for the browser: %v\n%s", err, out)
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("/", http.FileServer(http.Dir(dir)))
	mux.HandleFunc("/wasm_exec.js", func(w http.ResponseWriter, r *http.Request) {
		http.ServeFile(w, r, filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js"))
	})
	mux.HandleFunc("/run.html", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Write([]byte(runPage))
	})
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	return server.URL
}

// outcome is how a run ended in the page.
type outcome struct {
	Code   int
	Output string
}

// runIn runs the tests in a page with arguments, and returns how it went.
func runIn(t *testing.T, browser context.Context, url string) outcome {
	t.Helper()
	ctx, cancel := context.WithTimeout(browser, 5*time.Minute)
	defer cancel()
	if err := chromedp.Do(ctx, chromedp.Navigate(url)); err != nil {
		t.Fatal(err)
	}
	o, err := chromedp.Run(ctx, chromedp.Evaluate[outcome]("window.finished", chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// TestInChromium runs the conformance suite and the tests of this package in a
// browser; and once more where the browser gives little room. The benchmarks
// run too if BENCH is 1.
func TestInChromium(t *testing.T) {
	browser := startBrowser(t)
	server := program(t)
	args := "?-test.v=true"
	if os.Getenv("BENCH") == "1" {
		args += "&-test.bench=."
	}
	o := runIn(t, browser, server+"/run.html"+args)
	t.Logf("%s", o.Output)
	for _, passed := range []string{"--- PASS: TestLog (", "--- PASS: TestNoAnswer (", "--- PASS: TestBlobs (", "--- PASS: TestUpgrade ("} {
		if !strings.Contains(o.Output, passed) {
			t.Errorf("the browser does not report %q", passed)
		}
	}
	if o.Code != 0 {
		t.Errorf("the tests end with %d in the browser", o.Code)
	}

	origin := strings.Replace(server, "127.0.0.1", "localhost", 1) // with a store of its own
	quota := 12e6
	if _, err := chromedp.Call(browser, storage.OverrideQuotaForOrigin, storage.OverrideQuotaForOriginParams{Origin: origin, QuotaSize: &quota}); err != nil {
		t.Fatal(err)
	}
	o = runIn(t, browser, origin+"/run.html?littleRoom=1&-test.v=true&-test.run=TestFull")
	if t.Logf("%s", o.Output); o.Code != 0 || !strings.Contains(o.Output, "--- PASS: TestFull (") || !strings.Contains(o.Output, "--- PASS: TestFullOfBlobs (") {
		t.Errorf("the tests end with %d where there is little room", o.Code)
	}
}
