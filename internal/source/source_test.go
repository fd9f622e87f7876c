package source

import "testing"

func TestParse(t *testing.T) {
	s, err := Parse("published: Lemmon 2003, table 3")
	if err != nil || s.Class != Published || s.Ref != "Lemmon 2003, table 3" {
		t.Errorf("Parse = %+v, %v", s, err)
	}
	if again, err := Parse(s.String()); err != nil || again != s {
		t.Errorf("Parse(String()) = %+v, %v, want %+v", again, err, s)
	}
	for _, bad := range []string{"", "published", "published:", "hearsay: x"} {
		if _, err := Parse(bad); err == nil {
			t.Errorf("Parse(%q) gave no error", bad)
		}
	}
}
