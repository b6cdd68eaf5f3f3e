package web

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/binary"
	"math"
	"net/http"
	"net/netip"
	"strconv"
	"strings"
	"sync"
	"time"
)

// A pairing lasts for a season.
const pairedFor = 180 * 24 * time.Hour

// cookieName is the cookie of a paired caller: base64url of its end (8 bytes, Unix
// seconds), 16 random bytes and their HMAC-SHA-256.
const cookieName = "sternfan-paired"

// How many codes may be tried: so many at once, then one more each so many seconds, by
// one address and by all together. The code's hundred million values outlast that by
// more than a decade.
const (
	triesEach, everyEach = 5, 10.0
	triesAll, everyAll   = 20, 5.0
	addressesKept        = 1000
)

// pairing lets callers from other machines in once they have entered the code.
type pairing struct {
	code, key []byte
	now       func() time.Time

	mu   sync.Mutex
	all  bucket
	each map[netip.Addr]*bucket
}

// bucket holds the tries that are left.
type bucket struct {
	left float64
	at   time.Time
}

// take takes a try, if there is one; otherwise it says how long to wait.
func (b *bucket) take(now time.Time, most, every float64) (wait time.Duration) {
	b.left = math.Min(most, b.left+now.Sub(b.at).Seconds()/every)
	b.at = now
	if b.left < 1 {
		return time.Duration((1 - b.left) * every * float64(time.Second))
	}
	b.left--
	return 0
}

func newPairing(opt Options) *pairing {
	p := &pairing{now: opt.Now, all: bucket{triesAll, opt.Now()}, each: map[netip.Addr]*bucket{}}
	if opt.Code != "" && len(opt.Key) > 0 {
		sum := sha256.Sum256([]byte(digitsOf(opt.Code)))
		p.code, p.key = sum[:], opt.Key
	}
	return p
}

// NewCode returns a pairing code to show: eight digits in two groups.
func NewCode() string {
	var b [8]byte
	_, _ = rand.Read(b[:]) // never fails
	n := binary.BigEndian.Uint64(b[:]) % 1e8
	text := strconv.FormatUint(1e8+n, 10)[1:]
	return text[:4] + " " + text[4:]
}

func digitsOf(code string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, code)
}

// try checks a code. It returns how long to wait when there were too many tries.
func (p *pairing) try(from netip.Addr, code string) (ok bool, wait time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	b := p.each[from]
	if b == nil {
		if len(p.each) >= addressesKept {
			for a, old := range p.each {
				if now.Sub(old.at).Seconds() > triesEach*everyEach {
					delete(p.each, a)
				}
			}
		}
		b = &bucket{triesEach, now}
		if len(p.each) < addressesKept {
			p.each[from] = b
		}
	}
	if wait := b.take(now, triesEach, everyEach); wait > 0 {
		return false, wait
	}
	if wait := p.all.take(now, triesAll, everyAll); wait > 0 {
		return false, wait
	}
	sum := sha256.Sum256([]byte(digitsOf(code)))
	return p.code != nil && subtle.ConstantTimeCompare(sum[:], p.code) == 1, 0
}

// sign returns a cookie's value that ends at a time.
func (p *pairing) sign(end time.Time) string {
	var b [24]byte
	binary.BigEndian.PutUint64(b[:8], uint64(end.Unix()))
	_, _ = rand.Read(b[8:])
	return base64.RawURLEncoding.EncodeToString(append(b[:], p.mac(b[:])...))
}

func (p *pairing) mac(b []byte) []byte {
	m := hmac.New(sha256.New, p.key)
	_, _ = m.Write(b)
	return m.Sum(nil)
}

// knows reports whether a request carries a cookie that was given out here.
func (p *pairing) knows(r *http.Request) bool {
	c, err := r.Cookie(cookieName)
	if err != nil || p.key == nil {
		return false
	}
	raw, err := base64.RawURLEncoding.DecodeString(c.Value)
	if err != nil || len(raw) != 24+sha256.Size || !hmac.Equal(raw[24:], p.mac(raw[:24])) {
		return false
	}
	return p.now().Unix() < int64(binary.BigEndian.Uint64(raw[:8]))
}

// paired lets this machine and paired callers through; to others it shows where to enter
// the code.
func (s *Server) paired(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case fromHere(r) || s.pairs.knows(r):
			next.ServeHTTP(w, r)
		case r.URL.Path == "/pair" && r.Method == http.MethodPost:
			s.pair(w, r)
		case r.URL.Path == "/" && (r.Method == http.MethodGet || r.Method == http.MethodHead):
			pairPage(w, http.StatusOK, "")
		default:
			http.Error(w, "enter the pairing code first, at this server's first page", http.StatusUnauthorized)
		}
	})
}

func (s *Server) pair(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 1<<10)
	if err := r.ParseForm(); err != nil {
		http.Error(w, "that is no code", http.StatusBadRequest)
		return
	}
	from, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		http.Error(w, "it is not known where this comes from", http.StatusBadRequest)
		return
	}
	ok, wait := s.pairs.try(from.Addr().Unmap(), r.PostForm.Get("code"))
	switch {
	case wait > 0:
		seconds := int(math.Ceil(wait.Seconds()))
		w.Header().Set("Retry-After", strconv.Itoa(seconds))
		pairPage(w, http.StatusTooManyRequests, "Too many tries: wait "+strconv.Itoa(seconds)+" s and try again.")
	case !ok:
		pairPage(w, http.StatusForbidden, "That is not the code on the boat's screen.")
	default:
		end := s.pairs.now().Add(pairedFor)
		http.SetCookie(w, &http.Cookie{Name: cookieName, Value: s.pairs.sign(end), Path: "/", Expires: end,
			HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: r.TLS != nil})
		http.Redirect(w, r, "/", http.StatusSeeOther)
	}
}

// pairPage shows the form for the code. Nothing that the caller sent is in it.
func pairPage(w http.ResponseWriter, status int, note string) {
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if note != "" {
		note = `<p role="alert">` + note + `</p>`
	}
	_, _ = w.Write([]byte(`<!doctype html><html lang="en-US"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<meta name="color-scheme" content="light dark"><title>sternfan: pair</title></head><body><main><h1>Pair this phone</h1>
<p>The boat's screen shows a code of eight digits. Enter it once.</p>` + note + `
<form method="post" action="/pair"><p><label>Code <input name="code" inputmode="numeric" autocomplete="off" required maxlength="16"></label></p>
<p><button>Pair</button></p></form></main></body></html>`))
}
