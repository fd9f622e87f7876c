package office

import (
	"errors"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rung/internal/account"
	"rung/internal/web/page"
)

// secretForm is a form with a name and passwords, shown again with what is wrong.
type secretForm struct {
	page.FormPage
	wrong *account.InputError
}

// field adds a field; its mistake stands beside it.
func (f *secretForm) field(x page.Field) {
	if f.wrong != nil && f.wrong.Field == x.Name {
		x.Error = f.wrong.Message
	}
	f.Sets[0].Fields = append(f.Sets[0].Fields, x)
}

// newSecretForm starts a form; err says what was wrong with what was sent.
func newSecretForm(title, action, submit string, err error) *secretForm {
	f := &secretForm{FormPage: page.FormPage{Shell: page.Shell{Title: title}, Action: action, Submit: submit, Sets: []page.FieldSet{{}}}}
	if err != nil && !errors.As(err, &f.wrong) {
		f.Wrong = err.Error()
	}
	return f
}

// show writes the form with a status.
func (s *Server) show(w http.ResponseWriter, r *http.Request, f *secretForm, status int) error {
	return s.render(w, r, status, page.Form(f.FormPage))
}

func (s *Server) signIn(w http.ResponseWriter, r *http.Request) error {
	any, err := s.Book.Any(r.Context())
	if err != nil {
		return err
	}
	if !any {
		s.refuse(w, r, http.StatusNotFound, "There is no account yet.", "The first owner is made on the server, with “rung user add”, or with the address that the server printed when it was started.")
		return nil
	}
	return s.showSignIn(w, r, "", http.StatusOK)
}

func (s *Server) showSignIn(w http.ResponseWriter, r *http.Request, wrong string, status int) error {
	f := newSecretForm("Sign in", "/sign-in", "Sign in", nil)
	f.Wrong = wrong
	f.Hidden = []page.Hidden{{Name: "to", Value: localPath(r.FormValue("to"))}}
	f.field(page.Field{Name: "name", Label: "Name", Value: r.PostFormValue("name"), Needed: true, Known: "username"})
	f.field(page.Field{Name: "password", Label: "Password", Kind: page.Secret, Needed: true, Known: "current-password"})
	if !mayTakeSecrets(r) {
		f.Intro = plainHTTP
	}
	return s.show(w, r, f, status)
}

// formError is what is wrong with a form as a whole, in a sentence.
type formError string

func (e formError) Error() string { return string(e) }

const plainHTTP = "Passwords are not taken over plain http: anybody on the way could read them. Open this server with https."

// doSignIn opens a session. Its secret is new, whatever the browser brought.
func (s *Server) doSignIn(w http.ResponseWriter, r *http.Request) error {
	if !mayTakeSecrets(r) {
		return s.showSignIn(w, r, plainHTTP, http.StatusForbidden)
	}
	name, from := r.PostFormValue("name"), address(r)
	wait, err := s.limiter.Wait(r.Context(), name, from)
	if err != nil {
		return err
	}
	if wait > 0 {
		w.Header().Set("Retry-After", strconv.Itoa(int(math.Ceil(wait.Seconds()))))
		s.Log.Warn("too many guesses at a password", "from", from)
		return s.showSignIn(w, r, "Too many tries. Wait "+strconv.Itoa(int(math.Ceil(wait.Minutes())))+" minutes.", http.StatusTooManyRequests)
	}
	a, err := s.Book.CheckPassword(r.Context(), name, r.PostFormValue("password"))
	if errors.Is(err, account.ErrDenied) {
		s.Log.Warn("a sign-in was refused", "from", from) // no name: it may be a password typed in the wrong place
		return s.showSignIn(w, r, "Name and password do not fit. Capital letters count in the password.", http.StatusUnauthorized)
	}
	if err != nil {
		return err
	}
	if err := s.limiter.Succeeded(r.Context(), name, from); err != nil {
		return err
	}
	if err := s.begin(w, r, a); err != nil {
		return err
	}
	return see(w, r, localPath(r.PostFormValue("to")))
}

// begin opens a session for an account and ends the one the browser had.
func (s *Server) begin(w http.ResponseWriter, r *http.Request, a account.Account) error {
	if old := cookie(r, sessionCookie); old != "" {
		if err := s.Book.EndSession(r.Context(), old); err != nil {
			return err
		}
	}
	token, err := s.Book.OpenSession(r.Context(), a)
	if err != nil {
		return err
	}
	setCookie(w, r, sessionCookie, token)
	return nil
}

// signOut ends the session; the phone's own cookie stays.
func (s *Server) signOut(w http.ResponseWriter, r *http.Request) error {
	if token := cookie(r, sessionCookie); token != "" {
		if err := s.Book.EndSession(r.Context(), token); err != nil {
			return err
		}
	}
	setCookie(w, r, sessionCookie, "")
	return see(w, r, "/sign-in")
}

// localPath returns where to go after signing in, if it is a page of ours; else
// the start.
func localPath(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n\t") || strings.HasPrefix(u.Path, "/sign-in") {
		return "/"
	}
	return to
}

// setup makes the first owner, by the code that the server printed.
func (s *Server) setup(w http.ResponseWriter, r *http.Request) error {
	return s.showSetup(w, r, nil, http.StatusOK)
}

func (s *Server) showSetup(w http.ResponseWriter, r *http.Request, wrong error, status int) error {
	f := newSecretForm("The first owner", "/setup", "Make the account", wrong)
	f.Intro = "This account can do everything, and make the others. The name stands beside every entry that you write."
	f.Hidden = []page.Hidden{{Name: "code", Value: r.FormValue("code")}}
	f.field(page.Field{Name: "name", Label: "Your name", Value: r.PostFormValue("name"), Needed: true, Known: "username"})
	f.field(newPasswordField())
	return s.show(w, r, f, status)
}

func newPasswordField() page.Field {
	return page.Field{Name: "password", Label: "New password", Kind: page.Secret, Needed: true, Known: "new-password", Hint: "Ten characters or more. A few words in a row are good."}
}

func (s *Server) doSetup(w http.ResponseWriter, r *http.Request) error {
	if !mayTakeSecrets(r) {
		return s.showSetup(w, r, formError(plainHTTP), http.StatusForbidden)
	}
	a, err := s.Book.FirstOwner(r.Context(), r.PostFormValue("code"), r.PostFormValue("name"), r.PostFormValue("password"))
	var input *account.InputError
	if errors.As(err, &input) {
		return s.showSetup(w, r, err, http.StatusUnprocessableEntity)
	}
	if err != nil {
		return err
	}
	if err := s.begin(w, r, a); err != nil {
		return err
	}
	return see(w, r, "/office")
}

// ownPassword asks for a new password of who is signed in.
func (s *Server) ownPassword(w http.ResponseWriter, r *http.Request) error {
	return s.showOwnPassword(w, r, nil, http.StatusOK)
}

func (s *Server) showOwnPassword(w http.ResponseWriter, r *http.Request, wrong error, status int) error {
	f := newSecretForm("Change password", "/office/password", "Change it", wrong)
	f.Back = page.Link{Text: "Office", Href: "/office"}
	f.Intro = "Wherever else you are signed in, you will have to sign in again. Phones stay enrolled."
	f.field(page.Field{Name: "old-password", Label: "Present password", Kind: page.Secret, Needed: true, Known: "current-password"})
	f.field(newPasswordField())
	return s.show(w, r, f, status)
}

func (s *Server) changeOwnPassword(w http.ResponseWriter, r *http.Request) error {
	me, from := who(r).account, address(r)
	wait, err := s.limiter.Wait(r.Context(), me.Name, from)
	if err != nil {
		return err
	}
	if wait > 0 {
		return s.showOwnPassword(w, r, formError("Too many tries. Wait a quarter of an hour."), http.StatusTooManyRequests)
	}
	_, err = s.Book.CheckPassword(r.Context(), me.Name, r.PostFormValue("old-password"))
	if errors.Is(err, account.ErrDenied) {
		return s.showOwnPassword(w, r, &account.InputError{Field: "old-password", Message: "That is not your present password."}, http.StatusUnprocessableEntity)
	}
	if err == nil {
		err = s.limiter.Succeeded(r.Context(), me.Name, from)
	}
	if err == nil {
		err = s.Book.SetPassword(r.Context(), me.Name, me.Name, r.PostFormValue("password"))
	}
	var input *account.InputError
	if errors.As(err, &input) {
		return s.showOwnPassword(w, r, err, http.StatusUnprocessableEntity)
	}
	if err != nil {
		return err
	}
	me, err = s.Book.Account(r.Context(), me.Name)
	if err != nil {
		return err
	}
	if err := s.begin(w, r, me); err != nil {
		return err
	}
	return see(w, r, "/office?done=password")
}
