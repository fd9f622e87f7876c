package scenario

import "testing"

func TestParse(t *testing.T) {
	s, err := Parse("# A title\n# in two lines.\nplate a = 1; b = 2 ton\n\nfollow 3\n----\nverdict: repair\n\nclose fixed\n")
	if err != nil {
		t.Fatal(err)
	}
	if s.Title != "A title in two lines." || len(s.Steps) != 2 {
		t.Fatalf("Parse = %+v", s)
	}
	if first := s.Steps[0]; len(first.Commands) != 2 || first.Wants[0] != (Line{7, "verdict", "repair"}) {
		t.Errorf("first step %+v", first)
	}
	if p, err := s.Steps[0].Commands[0].pairs(); err != nil || p["b"] != "2 ton" {
		t.Errorf("pairs = %v, %v", p, err)
	}
	for _, bad := range []string{"", "# only a title", "follow 1\n----\nno colon"} {
		if _, err := Parse(bad); err == nil {
			t.Errorf("Parse(%q) gave no error", bad)
		}
	}
}
