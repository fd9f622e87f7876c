package office

import (
	"net/http"
	"net/netip"
	"strings"
)

// Forwarded stands before everything else. Behind a proxy it puts the address,
// scheme and host that the proxy tells into the request; without one it makes
// sure that nobody can tell such things of himself.
func Forwarded(behindProxy bool, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		c := r.Clone(r.Context())
		c.URL.Scheme = "" // a request line may name one
		if behindProxy {
			forward(c)
		}
		next.ServeHTTP(w, c)
	})
}

// forward reads the headers of one proxy: what it added last.
func forward(r *http.Request) {
	if last(r.Header.Get("X-Forwarded-Proto")) == "https" {
		r.URL.Scheme = "https"
	}
	if host := last(r.Header.Get("X-Forwarded-Host")); host != "" {
		r.Host = host
	}
	if a, err := netip.ParseAddr(last(strings.Join(r.Header.Values("X-Forwarded-For"), ","))); err == nil {
		r.RemoteAddr = netip.AddrPortFrom(a, 0).String()
	}
}

func last(list string) string {
	return strings.TrimSpace(list[strings.LastIndexByte(list, ',')+1:])
}

// StrictTransport tells browsers to come over https only from now on, for half a
// year. It cannot be taken back from browsers that have seen it.
func StrictTransport(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if secured(r) {
			w.Header().Set("Strict-Transport-Security", "max-age=15552000")
		}
		next.ServeHTTP(w, r)
	})
}

// address is where a request comes from, as guesses are counted: of the new kind
// of addresses the network, for one household has many.
func address(r *http.Request) string {
	a, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	ip := a.Addr().Unmap().WithZone("")
	if ip.Is6() {
		if p, err := ip.Prefix(64); err == nil {
			return p.String()
		}
	}
	return ip.String()
}
