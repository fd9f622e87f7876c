package office

import (
	"crypto/sha256"
	"fmt"
	"net/http"
	"strings"

	"rung/internal/paperwork"
	"rung/internal/web/page"
)

// Fingerprint is the SHA-256 of a certificate in groups of four digits, as it is
// compared by eye.
func Fingerprint(der []byte) string {
	h := fmt.Sprintf("%X", sha256.Sum256(der))
	var groups []string
	for ; h != ""; h = h[4:] {
		groups = append(groups, h[:4])
	}
	return strings.Join(groups, " ")
}

// steps say how platforms are told to trust a root.
//
// memory: menus of several versions; none was tried here.
var steps = []page.TrustSteps{
	{Platform: "Android phone", Steps: []string{
		"Download the root above.",
		"Settings, security, more security settings, install a certificate, CA certificate. Confirm the warning.",
		"Choose the file shop-root.crt.",
		"Open this server in the browser again: no warning is shown.",
	}},
	{Platform: "iPhone or iPad", Steps: []string{
		"Download the root above in the phone’s own browser, and allow the profile.",
		"Settings, general, VPN and device management: choose the profile and install it.",
		"Settings, general, about, certificate trust settings: switch the root on. Without this second step it is not trusted.",
		"Open this server again, add it to the home screen, and enrol the phone from there.",
	}},
	{Platform: "Windows", Steps: []string{
		"Download the root and open the file.",
		"Install certificate, current user, place in the store “Trusted Root Certification Authorities”.",
		"Close the browser and open it again.",
	}},
	{Platform: "Mac", Steps: []string{
		"Download the root and open it in the keychain, in the login keychain.",
		"Open it there, and under trust choose “always trust”.",
		"Close the browser and open it again.",
	}},
	{Platform: "Linux", Steps: []string{
		"In the browser: settings, certificates, authorities, import. Allow it to identify websites.",
	}},
}

// trust shows the root, its fingerprint and what to do with it.
func (s *Server) trust(w http.ResponseWriter, r *http.Request) error {
	if s.Root == nil {
		s.refuse(w, r, http.StatusNotFound, "This server has no authority of its own.", "Its certificate comes from elsewhere; there is nothing to install.")
		return nil
	}
	at := "https://" + r.Host + "/trust"
	symbol, err := paperwork.SymbolOf(at)
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, page.Trust(page.TrustPage{
		Shell: page.Shell{Title: "Trust this server", Back: page.Link{Text: "Start", Href: "/"}},
		Name:  s.RootName, Root: "/trust/root.crt", Fingerprint: Fingerprint(s.Root), Address: at,
		Symbol: symbol.SVG("Code of the address of this page"), Platforms: steps,
	}))
}

// root hands out the root itself.
func (s *Server) root(w http.ResponseWriter, r *http.Request) error {
	if s.Root == nil {
		return s.trust(w, r)
	}
	w.Header().Set("Content-Type", "application/x-x509-ca-cert")
	w.Header().Set("Content-Disposition", `attachment; filename="shop-root.crt"`)
	_, err := w.Write(s.Root)
	return err
}
