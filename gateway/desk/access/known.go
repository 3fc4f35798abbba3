package access

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"strings"
	"time"

	"threshline/session"
)

// knownCookie marks a browser in which somebody has signed in before. It lets
// nobody in: it only keeps the wrong passwords of others at the same address,
// such as all customers of a mobile network, from shutting its owner out.
const knownCookie = "threshline_known"

// knownFor is how long a browser stays known. Source: assumed, [ASSUMED-DESK].
const knownFor = 180 * 24 * time.Hour

// mark signs a mark of a browser with what only the store knows, so that nobody
// makes one up, and none outlives the password.
func mark(account *session.Account, random string) string {
	mac := hmac.New(sha256.New, []byte(account.Secret))
	mac.Write([]byte("known browser\n" + string(account.ID) + "\n" + random))
	return random + "." + hex.EncodeToString(mac.Sum(nil))
}

// remember sends a browser its mark.
func (g *Guard) remember(w http.ResponseWriter, r *http.Request, account *session.Account) error {
	random, err := g.newSecret()
	if err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{
		Name: knownCookie, Value: mark(account, random), Path: signInPath, HttpOnly: true, SameSite: http.SameSiteLaxMode,
		Secure: g.ByTLS(r), MaxAge: int(knownFor / time.Second),
	})
	return nil
}

// tries is what an attempt to sign in counts for: for its own browser where that
// is known for the name, else for the address with the name and for the address.
func (g *Guard) tries(r *http.Request, name string) ([]attempt, error) {
	from := network(g.cfg.Address(r))
	list := []attempt{{from: from}}
	if name == "" {
		return list, nil
	}
	list = append(list, attempt{from: from, account: name})
	cookie, err := r.Cookie(knownCookie)
	if err != nil || len(cookie.Value) > 4*secretSize {
		return list, nil
	}
	account, err := g.usable(r.Context(), personID(name))
	if account == nil {
		return list, err
	}
	random, _, _ := strings.Cut(cookie.Value, ".")
	if !hmac.Equal([]byte(cookie.Value), []byte(mark(account, random))) {
		return list, nil
	}
	return []attempt{{account: name, browser: digest(random)}}, nil
}
