package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"rung/internal/blob"
	"rung/internal/exchange"
	"rung/internal/ledger"
	"rung/internal/paperwork"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// maxPhotoForm is how much of a form with a photo is read, in bytes. It is more
// than a photo may have, so that one that is too large can be told so: a browser
// whose form is cut off in the middle shows nothing but an error of its own.
const maxPhotoForm = 4 * blob.MaxSize

// photoRoutes lists the forms that bring a photo.
func (s *Server) photoRoutes() map[string]answer {
	return map[string]answer{
		"POST /visits/{visit}/photos": s.addPhoto,
		"POST /units/{unit}/photos":   s.addPhoto,
	}
}

// withPhoto handles a form with a photo.
func (s *Server) withPhoto(a answer) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, maxPhotoForm)
		if err := a(w, r); err != nil {
			s.problem(w, r, err)
		}
	})
}

// newPhoto asks for a photo of a visit, of one of its checks, or of a unit.
func (s *Server) newPhoto(w http.ResponseWriter, r *http.Request) error {
	return s.showPhotoForm(w, r, nil)
}

// photoTarget is what a photo is of.
type photoTarget struct {
	shell  page.Shell
	action string
	in     visit.PhotoInput
	units  []visit.Choice // of which one may be named
	points []visit.Choice // of the check
	after  string         // where the form leads
}

func (s *Server) photoTarget(r *http.Request) (photoTarget, error) {
	if id := record.UnitID(r.PathValue("unit")); id != "" {
		p, x, u, err := s.Visits.Unit(r.Context(), id)
		if err != nil {
			return photoTarget{}, err
		}
		return photoTarget{
			shell:  page.Shell{Title: "Add a photo", Place: p.Name + " · " + x.Title(), Back: page.Link{Text: s.unitName(u), Href: unitPath(id)}},
			action: unitPath(id) + "/photos", in: visit.PhotoInput{Unit: id}, after: unitPath(id),
		}, nil
	}
	here, err := s.here(r)
	if err != nil {
		return photoTarget{}, err
	}
	base := visitPath(here.Visit.Visit)
	t := photoTarget{shell: s.shell(r, here, "Add a photo", "Check"), action: base + "/photos", in: visit.PhotoInput{Visit: here.Visit.Visit}, units: s.unitChoices(r.Context(), here), after: base}
	t.shell.Back, t.shell.Notice, t.shell.Undo = page.Link{Text: "Visit", Href: base}, "", nil
	id := r.FormValue("check")
	if c, known := s.tests().Check(id); known {
		t.in.Check, t.after = id, base+"/checks/"+url.PathEscape(id)
		t.shell.Title, t.shell.Back = "Add a photo: "+c.Name.EN, page.Link{Text: c.Name.EN, Href: t.after}
		for i := range c.Points {
			t.points = append(t.points, visit.Choice{ID: c.Points[i].ID, Name: s.title(c, &c.Points[i])})
		}
	}
	return t, nil
}

func (s *Server) showPhotoForm(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	t, err := s.photoTarget(r)
	if err != nil {
		return err
	}
	first := ""
	if t.in.Unit != "" {
		first = "nameplate"
	}
	f := fill(map[string]string{"shows": first}, r.PostForm, wrong)
	p := page.PhotoFormPage{
		Shell: t.shell, Action: t.action, Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
		Limit: fmt.Sprintf("JPEG, PNG or WebP, up to %d MB. The place and all else that a camera writes into it is removed.", blob.MaxSize>>20),
	}
	if t.in.Check != "" {
		p.Hidden = append(p.Hidden, page.Hidden{Name: "check", Value: t.in.Check})
	}
	shows := f.field(page.Choose, "shows", "shows", "What it shows", "")
	shows.Choices = pageChoices(s.Visits.PhotoSubjects())
	p.Fields = append(p.Fields, shows)
	if len(t.points) > 1 {
		p.Fields = append(p.Fields, oneOrNone(f, "point", "Which reading of the check", t.points))
	}
	if len(t.units) > 0 {
		p.Fields = append(p.Fields, oneOrNone(f, "unit", "Which unit", t.units))
	}
	p.Fields = append(p.Fields, f.words("caption", "In words", "What one should see in it. May stay empty."), f.field(page.Tick, "customer", "customer", "The customer gets it with the report", ""))
	if wrong != nil {
		p.FileWrong = wrong.Field("photo")
		f.shown["photo"] = true
		p.Wrong = f.rest()
		if p.FileWrong == "" {
			p.Wrong = sentenceEnd(p.Wrong, "Choose the photo once more.")
		}
	}
	return s.render(w, r, formStatus(wrong), page.PhotoForm(p))
}

// sentenceEnd puts a sentence behind another.
func sentenceEnd(text, more string) string {
	if text == "" {
		return more
	}
	return text + " " + more
}

// oneOrNone draws a list of which none need be chosen.
func oneOrNone(f *filling, name, label string, list []visit.Choice) page.Field {
	field := f.field(page.Pick, name, name, label, "")
	field.Choices = append([]page.Choice{{Value: "", Label: "None in particular"}}, pageChoices(list)...)
	return field
}

// addPhoto keeps a photo.
func (s *Server) addPhoto(w http.ResponseWriter, r *http.Request) error {
	content, err := photoForm(r)
	if err != nil {
		return err
	}
	by := s.by(r)
	t, err := s.photoTarget(r)
	if err != nil {
		return err
	}
	in, typed := t.in, r.PostForm
	in.Point, in.Shows, in.Caption, in.Customer, in.Content = typed.Get("point"), typed.Get("shows"), typed.Get("caption"), typed.Get("customer") == "yes", content
	if in.Unit == "" {
		in.Unit = record.UnitID(typed.Get("unit"))
	}
	if _, err := s.Visits.AddPhoto(r.Context(), by, in); err != nil {
		return s.again(w, r, err, s.showPhotoForm)
	}
	return see(w, r, t.after, url.Values{"done": {"photo"}})
}

// photoForm reads a form with a photo part by part, so that nothing of it goes
// through a file: in the phone there are none. The fields are left in r.PostForm.
func photoForm(r *http.Request) (content []byte, err error) {
	r.PostForm = url.Values{}
	r.Form = r.PostForm
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errForm, err)
	}
	room := int64(maxForm) // for all that is typed
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return content, checkLengths(r.PostForm)
		}
		if err != nil {
			return nil, photoFormError(err)
		}
		limit := room
		if part.FileName() != "" {
			limit = blob.MaxSize
		}
		b, err := io.ReadAll(io.LimitReader(part, limit+1)) // one more shows that it is too large
		if err == nil {
			_, err = io.Copy(io.Discard, part)
		}
		switch {
		case err != nil:
			return nil, photoFormError(err)
		case part.FileName() != "" && len(content) == 0:
			content = b
		case part.FileName() != "":
		case int64(len(b)) > room:
			return nil, &http.MaxBytesError{Limit: maxForm}
		default:
			room -= int64(len(b))
			r.PostForm.Add(part.FormName(), string(b))
		}
	}
}

// photoFormError says why a form with a photo could not be read.
func photoFormError(err error) error {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return &visit.Error{Kind: visit.OutOfRange, Message: visit.TooLargePhoto}
	}
	return fmt.Errorf("%w: %w", errForm, err)
}

// pictures draws photos, the newest first.
func (s *Server) pictures(ctx context.Context, p *ledger.Property, photos []*ledger.Photo) ([]page.Photo, error) {
	missing, err := s.Visits.NotHere(ctx, photos)
	if err != nil {
		return nil, err
	}
	var list []page.Photo
	for _, x := range slices.Backward(photos) {
		photo := s.picture(x, missing)
		photo.Href = photoPath(p, x)
		photo.When = sentence(s.day(x.Stamp.At)+" "+s.clock(x.Stamp.At), x.Stamp.Author)
		list = append(list, photo)
	}
	return list, nil
}

// picture draws a photo.
func (s *Server) picture(x *ledger.Photo, missing map[blob.Hash]bool) page.Photo {
	photo := page.Photo{Name: s.photoName(x), Width: x.Width, Height: x.Height, Printed: x.Customer}
	if missing[x.Hash] {
		photo.Note = fmt.Sprintf("%s · %.8s", megabytes(x.Bytes), x.Hash)
	} else {
		photo.Src = "/photos/" + string(x.Hash)
	}
	return photo
}

// photoName says what a photo shows: of what sort, of which check, in words.
func (s *Server) photoName(x *ledger.Photo) string {
	name := ""
	if x.Shows != "" && (x.Shows != "other" || x.Caption == "" && x.Check == "") {
		name = named(s.Visits.PhotoSubjects(), x.Shows)
	}
	if c, known := s.tests().Check(x.Check); known {
		check := c.Name.EN
		for i := range c.Points {
			if c.Points[i].ID == x.Point {
				check = s.title(c, &c.Points[i])
			}
		}
		name = sentence(name, check)
	}
	if name = sentence(name, x.Caption); name == "" {
		return "Without words"
	}
	return name
}

func megabytes(n int) string {
	if n < 100_000 {
		return strconv.Itoa((n+999)/1000) + " kB"
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}

func photoPath(p *ledger.Property, x *ledger.Photo) string {
	return propertyPath(p.Property) + "/photos/" + string(x.ID())
}

// addPhotoTo leads to the form of a photo of a visit, or of one of its checks.
func addPhotoTo(v *ledger.Visit, check string) page.Link {
	to := page.Link{Text: "Add a photo", Href: visitPath(v.Visit) + "/photos/new"}
	if check != "" {
		to.Href += "?check=" + url.QueryEscape(check)
	}
	return to
}

// visitPhotos are the photos of a visit, or of one of its checks.
func (s *Server) visitPhotos(r *http.Request, here visit.Here, check string) (page.PhotoSet, error) {
	set := page.PhotoSet{Heading: "Photos", Add: addPhotoTo(here.Visit, check)}
	photos := here.Visit.Photos
	if check != "" {
		photos = slices.DeleteFunc(slices.Clone(photos), func(x *ledger.Photo) bool { return x.Check != check })
	}
	var err error
	set.Photos, err = s.pictures(r.Context(), here.Property, photos)
	return set, err
}

// unitPhotos are the photos of a unit over the years.
func (s *Server) unitPhotos(r *http.Request, p *ledger.Property, u *ledger.Unit) (page.PhotoSet, error) {
	set := page.PhotoSet{Heading: "Photos", Add: page.Link{Text: "Add a photo", Href: unitPath(u.Unit) + "/photos/new"},
		Empty: "None yet. One of the nameplate saves the next one the climb."}
	var err error
	set.Photos, err = s.pictures(r.Context(), p, u.Photos)
	return set, err
}

// mostPhotos is how many photos the page of a property shows.
const mostPhotos = 6

// housePhotos are the latest photos of a property.
func (s *Server) housePhotos(r *http.Request, p *ledger.Property) (page.PhotoSet, error) {
	set := page.PhotoSet{Heading: "Photos"}
	photos := p.Photos[max(0, len(p.Photos)-mostPhotos):]
	if len(photos) > 0 {
		set.All = page.Link{Text: "All " + count(len(p.Photos), "photo", "photos"), Href: propertyPath(p.Property) + "/photos"}
	}
	var err error
	set.Photos, err = s.pictures(r.Context(), p, photos)
	return set, err
}

// photosNote says what a file with a house holds of its photos.
func (s *Server) photosNote(p *ledger.Property) string {
	if len(p.Photos) == 0 || s.HandOver == nil || s.HandOver.Blobs == nil {
		return ""
	}
	return fmt.Sprintf("with the newest photos, up to %d MB", exchange.MaxBundlePhotos>>20)
}

// album shows all photos of a property, day by day.
func (s *Server) album(w http.ResponseWriter, r *http.Request) error {
	p, err := s.Visits.Property(r.Context(), record.PropertyID(r.PathValue("property")))
	if err != nil {
		return err
	}
	list, err := s.pictures(r.Context(), p, p.Photos)
	if err != nil {
		return err
	}
	view := page.AlbumPage{Shell: page.Shell{Title: "Photos", Place: p.Name, Back: page.Link{Text: p.Name, Href: propertyPath(p.Property)}, Notice: notices[r.URL.Query().Get("done")]}}
	for i, x := range slices.Backward(p.Photos) {
		day := s.day(x.Stamp.At)
		if n := len(view.Sets); n == 0 || view.Sets[n-1].Heading != day {
			view.Sets = append(view.Sets, page.PhotoSet{Heading: day})
		}
		last := &view.Sets[len(view.Sets)-1]
		last.Photos = append(last.Photos, list[len(p.Photos)-1-i])
	}
	return s.render(w, r, http.StatusOK, page.Album(view))
}

// photoHere loads the photo of the address.
func (s *Server) photoHere(r *http.Request) (*ledger.Property, *ledger.Photo, error) {
	p, err := s.Visits.Property(r.Context(), record.PropertyID(r.PathValue("property")))
	if err != nil {
		return nil, nil, err
	}
	x, counts := p.Photo(record.EntryID(r.PathValue("photo")))
	if !counts {
		return nil, nil, &visit.Error{Kind: visit.NotFound, Message: "There is no such photo here, or it was taken back."}
	}
	return p, x, nil
}

// photoOf is where a photo belongs: its visit, else its unit.
func (s *Server) photoOf(p *ledger.Property, x *ledger.Photo) page.Link {
	if _, known := p.Visit(x.Visit); known {
		return page.Link{Text: "Visit", Href: visitPath(x.Visit)}
	}
	if u, _, known := p.Unit(x.Unit); known {
		return page.Link{Text: s.unitName(u), Href: unitPath(u.Unit)}
	}
	return page.Link{Text: p.Name, Href: propertyPath(p.Property)}
}

// photo shows one photo, large, and what is known of it.
func (s *Server) photo(w http.ResponseWriter, r *http.Request) error {
	p, x, err := s.photoHere(r)
	if err != nil {
		return err
	}
	missing, err := s.Visits.NotHere(r.Context(), []*ledger.Photo{x})
	if err != nil {
		return err
	}
	view := page.PhotoPage{
		Shell: page.Shell{Title: "Photo", Place: p.Name, Back: s.photoOf(p, x), Notice: notices[r.URL.Query().Get("done")]},
		Photo: s.picture(x, missing), Facts: []page.Fact{{Name: "Taken", Value: s.day(x.Stamp.At) + " " + s.clock(x.Stamp.At)}, {Name: "By", Value: x.Stamp.Author}},
		Mark:     page.Undo{Action: photoPath(p, x) + "/customer", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}}},
		Withdraw: page.Undo{Action: photoPath(p, x) + "/withdraw", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}}},
	}
	view.Full = view.Photo.Src
	if !x.Customer {
		view.Mark.Hidden = append(view.Mark.Hidden, page.Hidden{Name: "customer", Value: "yes"})
	}
	if u, system, known := p.Unit(x.Unit); known {
		view.Facts = append(view.Facts, page.Fact{Name: "Of", Value: system.Title() + " · " + s.unitName(u)})
	}
	size := megabytes(x.Bytes)
	if x.Width > 0 {
		size = fmt.Sprintf("%d by %d points, %s", x.Width, x.Height, size)
	}
	view.Facts = append(view.Facts, page.Fact{Name: "Size", Value: size}, page.Fact{Name: "Fingerprint", Value: fmt.Sprintf("%.16s…", x.Hash)})
	return s.render(w, r, http.StatusOK, page.PhotoView(view))
}

// markPhoto turns whether the customer gets a photo.
func (s *Server) markPhoto(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	p, x, err := s.photoHere(r)
	if err != nil {
		return err
	}
	if err := s.Visits.MarkPhoto(r.Context(), by, p.Property, x.ID(), r.PostForm.Get("customer") == "yes"); err != nil {
		return err
	}
	return see(w, r, photoPath(p, x), url.Values{"done": {"photo-marked"}})
}

// withdrawPhoto takes a photo back.
func (s *Server) withdrawPhoto(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	property := record.PropertyID(r.PathValue("property"))
	if err := s.Visits.WithdrawPhoto(r.Context(), by, property, record.EntryID(r.PathValue("photo")), "undone on the page"); err != nil {
		return err
	}
	return see(w, r, propertyPath(property)+"/photos", url.Values{"done": {"photo-back"}})
}

// pictureFile gives the bytes of a photo. They never change under their address,
// so a browser need not ask again; they are nobody else's to keep.
func (s *Server) pictureFile(w http.ResponseWriter, r *http.Request) error {
	return s.sendPicture(w, r, "private, max-age=31536000, immutable")
}

func (s *Server) sendPicture(w http.ResponseWriter, r *http.Request, caching string) error {
	content, kind, err := s.Visits.Picture(r.Context(), blob.Hash(r.PathValue("hash")))
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", kind) // by its content; nosniff is set for every answer
	h.Set("Content-Length", strconv.Itoa(len(content)))
	h.Set("Content-Disposition", "inline")
	h.Set("Cache-Control", caching)
	if r.Method == http.MethodHead {
		return nil
	}
	_, err = w.Write(content)
	return err
}

// paperPhotos are the photos of a visit that the customer gets, oldest first,
// with their addresses below a path.
func (s *Server) paperPhotos(ctx context.Context, v *ledger.Visit, below string) ([]paperwork.Photo, error) {
	photos := slices.DeleteFunc(slices.Clone(v.Photos), func(x *ledger.Photo) bool { return !x.Customer })
	missing, err := s.Visits.NotHere(ctx, photos)
	if err != nil {
		return nil, err
	}
	var list []paperwork.Photo
	for _, x := range photos {
		photo := paperwork.Photo{Hash: x.Hash, Name: s.photoName(x), Width: x.Width, Height: x.Height}
		if !missing[x.Hash] {
			photo.Address = below + "/photos/" + string(x.Hash)
		}
		list = append(list, photo)
	}
	return list, nil
}

// sharedPicture gives a photo of a shared report, to whoever has the link: one
// that the report shows, and no other.
func (s *Server) sharedPicture(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("X-Robots-Tag", "noindex, nofollow, noarchive")
	here, err := s.Visits.SharedReport(r.Context(), r.PathValue("token"))
	if err != nil {
		return s.noReport(w, r, err)
	}
	for _, x := range here.Visit.Photos {
		if x.Customer && string(x.Hash) == r.PathValue("hash") {
			return s.sendPicture(w, r, "private, max-age=300") // the link may be withdrawn
		}
	}
	return s.noReport(w, r, &visit.Error{Kind: visit.NotFound, Message: "There is no such photo in this report."})
}
