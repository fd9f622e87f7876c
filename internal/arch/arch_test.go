package arch

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

const module = "rung/"

// layers is the policy, from the ground up. A package may import any package
// of the layers named in below, and those of its own layer named in beside.
var layers = []struct {
	name   string
	below  []string
	beside map[string][]string // package: packages of the same layer it may import
	list   []string
}{
	{name: "foundation", list: []string{"quantity", "num", "source"},
		beside: map[string][]string{"num": {"quantity"}}},
	{name: "units", below: []string{"foundation"}, list: []string{"tradeunit"}},
	{name: "physics", below: []string{"foundation"},
		list: []string{"refrigerant", "refrigerant/gen", "moistair", "circuit", "relay", "airflow", "hydronic", "combustion", "cycle"},
		beside: map[string][]string{
			"refrigerant/gen": {"refrigerant"},
			"relay":           {"circuit"},
			"cycle":           {"refrigerant", "moistair", "airflow", "hydronic", "combustion"},
		}},
	{name: "plant", below: []string{"foundation", "physics"}, list: []string{"plant", "fault", "fieldtest", "system"},
		beside: map[string][]string{"fault": {"plant"}, "fieldtest": {"plant", "fault", "system"}}},
	{name: "reasoning", below: []string{"foundation", "physics", "plant"}, list: []string{"diagnosis", "replace", "drill", "protocol"},
		beside: map[string][]string{"drill": {"diagnosis"}}},
	{name: "journal", list: []string{"journal", "blob", "blob/blobtest", "journal/journaltest", "journal/memlog", "journal/sqlitelog", "journal/pglog", "journal/pgtest", "journal/idblog"},
		beside: map[string][]string{
			"journal/journaltest": {"journal"},
			"blob":                {"journal"},
			"blob/blobtest":       {"blob"},
			"journal/memlog":      {"journal", "blob"},
			"journal/sqlitelog":   {"journal", "blob"},
			"journal/pglog":       {"journal", "blob"},
			"journal/idblog":      {"journal", "blob"},
		}},
	{name: "records", below: []string{"foundation", "units", "journal"}, list: []string{"record", "ledger", "role"},
		beside: map[string][]string{"ledger": {"record"}, "role": {"record"}}},
	// Accounts know what a person is in the record and nothing of the work; the
	// practice does not know them: who works is told to it by the edge.
	{name: "accounts", below: []string{"journal", "records"}, list: []string{"account"}},
	{name: "practice", below: []string{"foundation", "units", "physics", "plant", "reasoning", "journal", "records"},
		list:   []string{"picture", "visit", "exchange", "calc", "trial"},
		beside: map[string][]string{"visit": {"picture"}, "exchange": {"picture"}}},
	{name: "edge", below: []string{"foundation", "units", "physics", "plant", "reasoning", "journal", "records", "accounts", "practice"},
		list: []string{"paperwork", "chart", "web", "web/page", "web/gallery", "office", "authority", "cli", "demo"},
		beside: map[string][]string{
			"paperwork":   {"chart"},
			"web":         {"web/page", "web/gallery", "chart", "paperwork"},
			"web/page":    {"chart", "paperwork"},
			"web/gallery": {"web/page", "chart", "paperwork"},
			"office":      {"web/page", "paperwork"},
			"cli":         {"chart", "paperwork"},
		}},
	{name: "tests", below: []string{"foundation", "units", "physics", "plant", "reasoning", "journal", "records", "accounts", "practice", "edge"},
		list:   []string{"arch", "scenario", "published", "published/gen", "bundle"},
		beside: map[string][]string{"published/gen": {"published"}}},
}

// drivers are the stores: only commands and tests import them.
var drivers = map[string]bool{
	"journal/memlog": true, "journal/sqlitelog": true, "journal/pglog": true, "journal/idblog": true,
}

func TestImportsPointDown(t *testing.T) {
	layerOf := map[string]int{}
	for i, l := range layers {
		for _, p := range l.list {
			layerOf[p] = i
		}
	}
	for from, imports := range packageImports(t, "../..") {
		if strings.HasPrefix(from, "cmd/") {
			continue
		}
		from = strings.TrimPrefix(from, "internal/")
		i, placed := layerOf[from]
		if !placed {
			t.Errorf("package %s has no place in the layers", from)
			continue
		}
		for _, to := range imports {
			if why := refusal(from, i, strings.TrimPrefix(to, "internal/"), layerOf); why != "" {
				t.Errorf("%s imports %s: %s", from, to, why)
			}
		}
	}
}

// refusal says why from, of layer i, may not import to, or "".
func refusal(from string, i int, to string, layerOf map[string]int) string {
	if drivers[to] {
		return "a store driver is imported by commands and tests only"
	}
	j, placed := layerOf[to]
	if !placed {
		return "it has no place in the layers"
	}
	if i == j {
		for _, p := range layers[i].beside[from] {
			if p == to {
				return ""
			}
		}
		return "not allowed beside each other"
	}
	for _, name := range layers[i].below {
		if layers[j].name == name {
			return ""
		}
	}
	return layers[i].name + " may not see " + layers[j].name
}

// packageImports returns for every package directory below root the packages
// of this module that its non-test files import.
func packageImports(t *testing.T, root string) map[string][]string {
	t.Helper()
	all := map[string][]string{}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "testdata" || strings.HasPrefix(d.Name(), ".") && path != root) {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		pkg := filepath.ToSlash(rel)
		all[pkg] = append(all[pkg], ours(f.Imports)...)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func ours(specs []*ast.ImportSpec) []string {
	var list []string
	for _, s := range specs {
		path, err := strconv.Unquote(s.Path.Value)
		if err == nil && strings.HasPrefix(path, module) {
			list = append(list, strings.TrimPrefix(path, module))
		}
	}
	return list
}
