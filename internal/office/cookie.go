package office

import (
	"net/http"

	"rung/internal/account"
)

// The cookies: of a person who signed in, and of a phone.
const (
	sessionCookie = "rung-session"
	phoneCookie   = "rung-phone"
)

// secured says whether a request came over https, to us or to the proxy that we
// were told to trust (see Forwarded).
func secured(r *http.Request) bool { return r.TLS != nil || r.URL.Scheme == "https" }

// cookieName is the name of a cookie as the browser keeps it. Over https it has
// the prefix with which a browser takes it from this very host only, for all its
// paths and over https only; without, on the machine itself, it has not.
//
// published: RFC 6265bis, section 4.1.3.2, the __Host- prefix (draft, from
// public copies).
func cookieName(r *http.Request, name string) string {
	if secured(r) {
		return "__Host-" + name
	}
	return name
}

// cookie returns the value of a cookie, empty if it is not there.
func cookie(r *http.Request, name string) string {
	c, err := r.Cookie(cookieName(r, name))
	if err != nil {
		return ""
	}
	return c.Value
}

// setCookie gives a secret to the browser; an empty one takes it away.
func setCookie(w http.ResponseWriter, r *http.Request, name, secret string) {
	c := &http.Cookie{
		Name: cookieName(r, name), Value: secret, Path: "/", MaxAge: int(account.Lifetime.Seconds()),
		HttpOnly: true, Secure: secured(r), SameSite: http.SameSiteLaxMode,
	}
	if secret == "" {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
}

// mayTakeSecrets says whether a password may travel as the request did: over
// https, or within the machine.
func mayTakeSecrets(r *http.Request) bool { return secured(r) || isLoopback(r.Host) }
