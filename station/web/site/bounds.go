package site

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"sagitta/batch"
)

// largestRequest bounds what a page may send: a specification or a list of serial numbers is far smaller.
const largestRequest = 4 << 20

// largestOf is how much a request may send: a calibration certificate comes with its file.
func largestOf(r *http.Request) int64 {
	if strings.HasPrefix(r.URL.Path, "/gauges/") && strings.HasSuffix(r.URL.Path, "/certificates") {
		return batch.LargestCertificate + largestRequest
	}
	return largestRequest
}

// readForm reads what a form sent before anything acts on it: fields that were cut off must not pass for empty ones.
func readForm(r *http.Request) error {
	if r.Method != http.MethodPost {
		return nil
	}
	err := r.ParseForm()
	if err == nil {
		err = r.ParseMultipartForm(largestOf(r)) // all of it in memory: a full disk refuses no file that is not to be kept on it
	}
	var large *http.MaxBytesError
	switch {
	case err == nil, errors.Is(err, http.ErrNotMultipart):
		return nil
	case errors.As(err, &large):
		return refusal{fmt.Errorf("What was sent is longer than %d MB: nothing of it was used.", largestOf(r)>>20), http.StatusRequestEntityTooLarge}
	}
	return refusal{errors.New("What was sent is not a whole form: nothing of it was used."), http.StatusBadRequest}
}
