//go:build unix

package pgtest

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// server is the private server of this test program.
var server struct {
	once  sync.Once
	url   string
	err   error
	alive io.Closer // the server runs until it is closed
	done  func()
}

// Main runs the tests and ends the private server, if one was started. For use
// in TestMain.
func Main(m *testing.M) int {
	status := m.Run()
	if server.alive != nil {
		server.alive.Close()
		server.done()
	}
	return status
}

// URL returns the address of a server. A test that cannot have one is skipped,
// and says why; where REQUIRE_ALL is 1 it fails.
func URL(t testing.TB) string {
	t.Helper()
	if url := os.Getenv("TEST_POSTGRES_URL"); url != "" {
		return url
	}
	server.once.Do(func() { server.url, server.err = start() })
	if server.err != nil {
		if os.Getenv("REQUIRE_ALL") == "1" {
			t.Fatalf("no PostgreSQL server, and REQUIRE_ALL=1 forbids to skip: %v", server.err)
		}
		t.Skipf("no PostgreSQL server: %v; install PostgreSQL or set TEST_POSTGRES_URL", server.err)
	}
	return server.url
}

// programs returns the newest directory with the programs of a server.
func programs() (string, error) {
	if path, err := exec.LookPath("initdb"); err == nil {
		return filepath.Dir(path), nil
	}
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if len(found) == 0 {
		return "", errors.New("initdb is not on the path and not below /usr/lib/postgresql")
	}
	version := func(path string) int {
		n, _ := strconv.Atoi(filepath.Base(filepath.Dir(filepath.Dir(path))))
		return n
	}
	return filepath.Dir(slices.MaxFunc(found, func(a, b string) int { return version(a) - version(b) })), nil
}

// supervise starts a server that ends when standard input does.
const supervise = `"$0/postgres" -D "$1" -k "$1" -c listen_addresses= -c max_connections=60 -c "fsync=$2" >"$1/log" 2>&1 &
read gone; kill -INT $!; wait; rm -rf "$1"`

func start() (url string, err error) {
	bin, err := programs()
	if err != nil {
		return "", err
	}
	dir, err := os.MkdirTemp("/tmp", "pg") // a socket's path must be short
	if err != nil {
		return "", err
	}
	as, err := somebody(dir)
	if err != nil {
		return "", err
	}
	initdb := exec.Command(filepath.Join(bin, "initdb"), "-D", dir, "-A", "trust", "-U", "rung", "-E", "UTF8", "--locale=C", "--no-sync")
	initdb.SysProcAttr, initdb.Dir = as, dir
	if out, err := initdb.CombinedOutput(); err != nil {
		os.RemoveAll(dir)
		return "", fmt.Errorf("initdb: %w: %s", err, out)
	}
	c := exec.Command("sh", "-c", supervise, bin, dir, forced())
	c.SysProcAttr, c.Dir = as, dir
	if server.alive, err = c.StdinPipe(); err != nil {
		return "", err
	}
	if err := c.Start(); err != nil {
		return "", err
	}
	server.done = func() { c.Wait(); os.RemoveAll(dir) }
	return "postgres://rung@/postgres?host=" + dir, await(dir)
}

// forced says whether the server forces what it writes to the disk: when it is
// measured. A test does not pull the plug, and is four times as quick without.
func forced() string {
	if f := flag.Lookup("test.bench"); f != nil && f.Value.String() != "" {
		return "on"
	}
	return "off"
}

// somebody returns how to run as another user than root, whom PostgreSQL
// refuses, and gives him the directory.
func somebody(dir string) (*syscall.SysProcAttr, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
		gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
		if err := errors.Join(err1, err2, os.Chown(dir, int(uid), int(gid))); err != nil {
			return nil, err
		}
		return &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}, nil
	}
	return nil, errors.New("root may not run it, and there is no user postgres or nobody")
}

// await waits until the server takes connections, as its own file says.
func await(dir string) error {
	for range 300 {
		if b, err := os.ReadFile(filepath.Join(dir, "postmaster.pid")); err == nil && strings.Contains(string(b), "ready") {
			return nil
		}
		time.Sleep(50 * time.Millisecond)
	}
	log, _ := os.ReadFile(filepath.Join(dir, "log"))
	return fmt.Errorf("the server did not start: %s", log)
}
