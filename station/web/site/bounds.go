package site

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
)

// largestRequest bounds what a page may send: a specification or a list of serial numbers is far smaller.
const largestRequest = 4 << 20

const (
	bodyWithin   = 30 * time.Second // for all that a form sends
	answerWithin = 10 * time.Minute // for an answer to be taken; a live stream has its own bound
	longestPath  = 2000             // bytes of an address
	longestQuery = 8000             // bytes of what an address asks
)

// LargestPhotographs is how much the photographs of one form may hold together.
const LargestPhotographs = 60 << 20

// largestOf is how much a request may send: a calibration certificate comes with its file, photographs come several at once.
func largestOf(r *http.Request) int64 {
	switch {
	case strings.HasPrefix(r.URL.Path, "/gauges/") && strings.HasSuffix(r.URL.Path, "/certificates"):
		return batch.LargestCertificate + largestRequest
	case photographs(r):
		return LargestPhotographs + largestRequest
	}
	return largestRequest
}

// photographs says that a request is the form of photographs.
func photographs(r *http.Request) bool {
	return strings.HasPrefix(r.URL.Path, "/instruments/") && strings.HasSuffix(r.URL.Path, "/photographs")
}

// withinOf is how long a form may take to arrive: photographs come from a telephone's network.
func (s *Site) withinOf(r *http.Request) time.Duration {
	if photographs(r) {
		return 10 * s.bodyWithin
	}
	return s.bodyWithin
}

// readForm reads what a form sent before anything acts on it: fields that were cut off must not pass for empty ones.
func (s *Site) readForm(c *gin.Context) error {
	r := c.Request
	line := http.NewResponseController(c.Writer)
	if r.Method != http.MethodPost {
		if r.ContentLength != 0 { // nothing reads it, but the server waits for it before the next request
			_ = line.SetReadDeadline(time.Now().Add(s.bodyWithin))
		}
		return nil
	}
	_ = line.SetReadDeadline(time.Now().Add(s.withinOf(r))) // what has no line, as in a test, cannot be slow
	err := r.ParseForm()
	if err == nil {
		err = r.ParseMultipartForm(largestOf(r)) // all of it in memory: a full disk refuses no file that is not to be kept on it
	}
	if err == nil { // else the bound also holds for the rest, which the server reads before it answers
		_ = line.SetReadDeadline(time.Time{})
	}
	var large *http.MaxBytesError
	switch {
	case errors.Is(err, os.ErrDeadlineExceeded):
		return refusal{fmt.Errorf("What was sent did not arrive within %.0f seconds: nothing of it was used.", s.withinOf(r).Seconds()), http.StatusRequestTimeout}
	case err == nil, errors.Is(err, http.ErrNotMultipart):
		return nil
	case errors.As(err, &large):
		return refusal{fmt.Errorf("What was sent is longer than %d MB: nothing of it was used.", largestOf(r)>>20), http.StatusRequestEntityTooLarge}
	}
	return refusal{errors.New("What was sent is not a whole form: nothing of it was used."), http.StatusBadRequest}
}

// plainText refuses what no field, address or link of these pages sends: bytes that are no text, control characters, addresses without end.
func plainText(r *http.Request) error {
	bad := func(where string) error {
		return refusal{fmt.Errorf("%s holds bytes or control characters that are no text: nothing of it was used.", where), http.StatusBadRequest}
	}
	if len(r.URL.Path) > longestPath || len(r.URL.RawQuery) > longestQuery {
		return refusal{fmt.Errorf("The address is longer than %d bytes, or what it asks longer than %d.", longestPath, longestQuery), http.StatusRequestURITooLong}
	}
	if !isText(r.URL.Path) {
		return bad("The address")
	}
	query, err := url.ParseQuery(r.URL.RawQuery)
	if err != nil || !allText(query) {
		return bad("What the address asks")
	}
	if !allText(r.PostForm) || r.MultipartForm != nil && !allText(r.MultipartForm.Value) {
		return bad("What was sent")
	}
	return nil
}

func allText(values map[string][]string) bool {
	for name, all := range values {
		if !isText(name) || slices.ContainsFunc(all, func(v string) bool { return !isText(v) }) {
			return false
		}
	}
	return true
}

// isText says whether s is UTF-8 without control characters, line ends and tabs apart.
func isText(s string) bool {
	return utf8.ValidString(s) && strings.IndexFunc(s, func(r rune) bool { return unicode.IsControl(r) && !strings.ContainsRune("\n\r\t", r) }) < 0
}
