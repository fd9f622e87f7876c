package main

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"rung/internal/journal/pgtest"
)

// TestMain lets the test program be the program itself, so that a test can
// start it and kill it.
func TestMain(m *testing.M) {
	if os.Getenv("RUNG_ITSELF") == "1" {
		main()
		return
	}
	os.Exit(pgtest.Main(m))
}

// server is "rung serve" as a process of its own.
type server struct {
	t    *testing.T
	file string
	c    *exec.Cmd
	url  string
}

// start starts it over its file and waits until it says where it is.
func (s *server) start() {
	s.t.Helper()
	s.c = exec.Command(os.Args[0], "serve", "--file", s.file, "--addr", "127.0.0.1:0", "--name", "Ada")
	s.c.Env = append(os.Environ(), "RUNG_ITSELF=1")
	out, err := s.c.StdoutPipe()
	if err != nil {
		s.t.Fatal(err)
	}
	s.c.Stderr = os.Stderr
	if err := s.c.Start(); err != nil {
		s.t.Fatal(err)
	}
	s.t.Cleanup(func() { s.c.Process.Kill() })
	line, err := bufio.NewReader(out).ReadString('\n')
	m := regexp.MustCompile(`http://\S+`).FindString(line)
	if err != nil || m == "" {
		s.t.Fatalf("the server says %q, %v", line, err)
	}
	s.url = m
}

// kill takes the process away without a word, as an empty battery does.
func (s *server) kill() {
	s.t.Helper()
	if err := s.c.Process.Kill(); err != nil {
		s.t.Fatal(err)
	}
	s.c.Wait()
}

func (s *server) get(path string) string {
	s.t.Helper()
	r, err := http.Get(s.url + path)
	if err != nil {
		s.t.Fatal(err)
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != http.StatusOK {
		s.t.Fatalf("%s answers %d, %v: %s", path, r.StatusCode, err, b)
	}
	return string(b)
}

// number finds the number of the form that is sent to an address.
func (s *server) number(page, action string) string {
	s.t.Helper()
	_, form, found := strings.Cut(s.get(page), `action="`+action+`"`)
	m := regexp.MustCompile(`name="form" value="([0-9A-Z]+)"`).FindStringSubmatch(form)
	if !found || m == nil {
		s.t.Fatalf("%s has no form for %s", page, action)
	}
	return m[1]
}

// send sends a form and returns where it leads; an empty address is an answer
// that did not come.
func (s *server) send(path string, form url.Values) string {
	client := http.Client{Timeout: 20 * time.Second, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	r, err := client.PostForm(s.url+path, form)
	if err != nil {
		return ""
	}
	defer r.Body.Close()
	if r.StatusCode != http.StatusSeeOther {
		b, _ := io.ReadAll(r.Body)
		s.t.Errorf("%s answers %d: %.300s", path, r.StatusCode, b)
	}
	return r.Header.Get("Location")
}

// enter fills in the form of a page, and returns where it leads.
func (s *server) enter(page, action string, form url.Values) string {
	s.t.Helper()
	form.Set("form", s.number(page, action))
	to := s.send(action, form)
	if to == "" {
		s.t.Fatalf("%s: no answer", action)
	}
	path, _, _ := strings.Cut(to, "?")
	return path
}

// TestKilledBetweenReadings kills the server again and again while readings come
// in, and opens the file anew: every reading that was acknowledged is on the
// page, and the work goes on where it was.
func TestKilledBetweenReadings(t *testing.T) {
	s := &server{t: t, file: filepath.Join(t.TempDir(), "shop.db")}
	s.start()
	property := s.enter("/properties/new", "/properties", url.Values{"name": {"12 Sample Lane"}})
	system := s.enter(property+"/systems/new", property+"/systems", url.Values{"name": {"upstairs"}})
	s.enter(system+"/units/new", system+"/units", url.Values{"kind": {"outdoor-unit"}})
	visit := strings.TrimSuffix(s.enter(system+"/open", system+"/visits", url.Values{"words": {"stays warm"}, "complaint": {"not-cooling"}, "who": {"Ada"}}), "/surroundings")

	var acknowledged []string
	next := 0
	for round := range 5 {
		killed := make(chan struct{})
		first := next
		for answered := true; answered; next++ {
			if next-first == 5+4*round { // while this reading is on its way
				go func() {
					s.c.Process.Kill()
					close(killed)
				}()
			}
			text := fmt.Sprintf("%d.%02d", 20+next/100, next%100)
			to := s.send(visit+"/readings", url.Values{"form": {fmt.Sprintf("01ARZ3NDEKTSV4RRFFQ%07d", next)}, "check": {"cap-bench"}, "demand": {"off"}, "point-herm": {text}})
			if answered = to != ""; answered {
				acknowledged = append(acknowledged, text)
			}
		}
		<-killed
		s.c.Wait()
		s.start()
		page := s.get(visit)
		for _, text := range acknowledged {
			if !strings.Contains(page, ">"+text+" µF<") {
				t.Errorf("round %d: %s µF was acknowledged and is gone", round, text)
			}
		}
	}
	if len(acknowledged) < 10 {
		t.Fatalf("only %d readings were acknowledged: nothing is shown by that", len(acknowledged))
	}
	t.Logf("%d readings acknowledged over 5 kills, %d sent", len(acknowledged), next)
	s.kill()
	s.start()
	// The form whose answer never came is sent again: it is there once.
	last := url.Values{"form": {fmt.Sprintf("01ARZ3NDEKTSV4RRFFQ%07d", next-1)}, "check": {"cap-bench"}, "demand": {"off"}, "point-herm": {fmt.Sprintf("%d.%02d", 20+(next-1)/100, (next-1)%100)}}
	if to := s.send(visit+"/readings", last); to == "" {
		t.Fatal("no answer after the last start")
	}
	if n := strings.Count(s.get(visit), ">"+last.Get("point-herm")+" µF<"); n != 1 {
		t.Errorf("the reading sent again is shown %d times", n)
	}
}

// TestStartRefused: what keeps the server from starting is said in one line,
// with what to do.
func TestStartRefused(t *testing.T) {
	busy, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer busy.Close()
	torn := filepath.Join(t.TempDir(), "torn.db")
	if err := os.WriteFile(torn, []byte(strings.Repeat("not a journal ", 1000)), 0o644); err != nil {
		t.Fatal(err)
	}
	good := filepath.Join(t.TempDir(), "shop.db")
	for _, c := range []struct{ file, addr, says string }{
		{filepath.Join(t.TempDir(), "nowhere", "shop.db"), "127.0.0.1:0", "there is no directory"},
		{torn, "127.0.0.1:0", "damaged"},
		{good, busy.Addr().String(), "--addr"},
	} {
		refused := exec.Command(os.Args[0], "serve", "--file", c.file, "--addr", c.addr)
		refused.Env = append(os.Environ(), "RUNG_ITSELF=1")
		out, err := refused.CombinedOutput()
		if err == nil || !strings.Contains(string(out), c.says) || strings.Count(strings.TrimSpace(string(out)), "\n") > 0 {
			t.Errorf("%s on %s: %v, says %q, want one line with %q", c.file, c.addr, err, out, c.says)
		}
	}
}
