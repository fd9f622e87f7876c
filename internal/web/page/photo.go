package page

// Photo is a photo on a page. What is not here yet has no Src; Note then says
// what is known of it.
type Photo struct {
	Href    string // of its own page; empty on papers
	Src     string // of the picture; empty if it is not here yet
	Name    string // what it shows
	When    string // when, by whom; empty on papers
	Note    string // "not here yet", size and hash
	Width   int    // in points; 0 where not known
	Height  int    // in points; 0 where not known
	Printed bool   // goes to the customer with the report
}

// Alt says in words what the picture is of, for who cannot see it.
func (p Photo) Alt() string { return "Photo: " + p.Name }

// loading says when a browser fetches the picture: on a paper at once, for what
// is below the screen may be printed.
func (p Photo) loading() string {
	if p.Href == "" {
		return "eager"
	}
	return "lazy"
}

// PhotoSet is photos under a heading, with the way to add one.
type PhotoSet struct {
	Heading string
	Empty   string // said if there are none
	Photos  []Photo
	Add     Link // nowhere if none can be added from here
	All     Link // to all of them; nowhere if these are all
}

// PhotoFormPage asks for a photo. The file itself cannot come back in a form that
// was refused: it is chosen again.
type PhotoFormPage struct {
	Shell
	Action    string
	Hidden    []Hidden
	Wrong     string // with the form as a whole
	FileWrong string // with the file
	Limit     string // what is taken, in words
	Fields    []Field
}

// Mistakes lists the refused fields.
func (p PhotoFormPage) Mistakes() []Field {
	var list []Field
	if p.FileWrong != "" {
		list = append(list, Field{Name: "photo", Label: "Photo", Error: p.FileWrong})
	}
	for _, f := range p.Fields {
		if f.Error != "" {
			list = append(list, f)
		}
	}
	return list
}

// PhotoPage is one photo, large.
type PhotoPage struct {
	Shell
	Photo    Photo
	Facts    []Fact
	Mark     Undo // the form that turns whether the customer gets it
	Withdraw Undo
	Full     string // the picture by itself; empty if it is not here yet
}

// AlbumPage is all photos of a property.
type AlbumPage struct {
	Shell
	Sets []PhotoSet
}
