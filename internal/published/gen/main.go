// Command gen writes docs/validation.md: it runs the published checks with
// recording on and tables what they compared.
//
//	go run ./internal/published/gen [-o docs/validation.md]
package main

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"

	"rung/internal/published"
)

func main() {
	out := flag.String("o", "docs/validation.md", "file to write")
	flag.Parse()
	if err := run(*out); err != nil {
		fmt.Fprintln(os.Stderr, "validation page:", err)
		os.Exit(1)
	}
}

func run(out string) error {
	list, err := packages()
	if err != nil {
		return err
	}
	records, err := os.MkdirTemp("", "published")
	if err != nil {
		return err
	}
	defer os.RemoveAll(records)
	if err := test(list, records); err != nil {
		return err
	}
	var checks []check
	for _, p := range list {
		own, err := p.read(records)
		if err != nil {
			return err
		}
		checks = append(checks, own...)
	}
	return os.WriteFile(out, []byte(page(checks)), 0o644)
}

// pkg is a package whose tests read published values.
type pkg struct {
	path, dir string
	name      string // below internal/
}

// packages lists them in order of name.
func packages() ([]pkg, error) {
	out, err := command("go", "list", "-f", "{{.ImportPath}}\t{{.Dir}}\t{{.TestImports}} {{.XTestImports}}", "./...")
	if err != nil {
		return nil, err
	}
	var list []pkg
	for _, line := range strings.Split(strings.TrimSpace(out), "\n") {
		f := strings.Split(line, "\t")
		if strings.Contains(f[2], "rung/internal/published") {
			list = append(list, pkg{path: f[0], dir: f[1], name: strings.TrimPrefix(f[0], "rung/internal/")})
		}
	}
	sort.Slice(list, func(i, j int) bool { return list[i].name < list[j].name })
	return list, nil
}

// test runs the published checks of the packages, which leave their
// comparisons in the directory records.
func test(list []pkg, records string) error {
	args := []string{"test", "-count=1", "-run", "^TestPublished"}
	for _, p := range list {
		args = append(args, p.path)
	}
	cmd := exec.Command("go", args...)
	cmd.Env = append(os.Environ(), published.RecordTo+"="+records)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("the checks fail: %w\n%s", err, out)
	}
	return nil
}

func command(name string, args ...string) (string, error) {
	cmd := exec.Command(name, args...)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	return string(out), err
}

// check is a comparison with the row it belongs to.
type check struct {
	published.Comparison
	pkg   string
	table *published.Table
	row   published.Row
}

// read returns what the package compared. A row that no test compares is an
// error, unless its table is free in shape.
func (p pkg) read(records string) ([]check, error) {
	tables, err := p.tables()
	if err != nil {
		return nil, err
	}
	f, err := os.Open(filepath.Join(records, "internal."+strings.ReplaceAll(p.name, "/", ".")))
	if os.IsNotExist(err) && len(tables) == 0 {
		return nil, nil // only published.Near
	}
	if err != nil {
		return nil, fmt.Errorf("%s compared nothing: %w", p.name, err)
	}
	defer f.Close()
	var checks []check
	seen := map[string]bool{}
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		c := check{pkg: p.name}
		if err := json.Unmarshal(lines.Bytes(), &c.Comparison); err != nil {
			return nil, fmt.Errorf("%s: %w", p.name, err)
		}
		c.table = tables[c.File]
		for _, r := range c.table.Rows {
			if r.Line == c.Line {
				c.row = r
			}
		}
		seen[fmt.Sprint(c.File, ":", c.Line)] = true
		checks = append(checks, c)
	}
	if err := lines.Err(); err != nil {
		return nil, err
	}
	if err := p.countMisses(checks); err != nil {
		return nil, err
	}
	for file, tb := range tables {
		for _, r := range tb.Rows {
			if tb.Columns != nil && !seen[fmt.Sprint(file, ":", r.Line)] {
				return nil, fmt.Errorf("%s: no test compares with row %v", p.name, r)
			}
		}
	}
	return checks, nil
}

// countMisses fails if the list of misses names one that no test met.
func (p pkg) countMisses(checks []check) error {
	listed, err := published.ReadMissed(filepath.Join(p.dir, "testdata", "missed.txt"))
	if err != nil {
		return err
	}
	met := 0
	for _, c := range checks {
		if !c.Word && c.Miss() {
			met++
		}
	}
	if met != len(listed) {
		return fmt.Errorf("%s: testdata/missed.txt lists %d misses, the tests met %d", p.name, len(listed), met)
	}
	return nil
}

// tables reads all tables of the package.
func (p pkg) tables() (map[string]*published.Table, error) {
	names, err := filepath.Glob(filepath.Join(p.dir, "testdata", "published", "*.txt"))
	if err != nil {
		return nil, err
	}
	tables := map[string]*published.Table{}
	for _, name := range names {
		tb, err := published.ReadFile(filepath.ToSlash(name))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", p.name, err)
		}
		tables[tb.File] = tb
	}
	return tables, nil
}
