package site

import (
	"errors"
	"fmt"
	"io"
	"net/http"

	"sagitta/batch"
)

// Upload reads an uploaded file of at most the given size; nil when none was chosen. Mendable: it is larger.
func Upload(c *Request, name string, most int64) (string, []byte, error) {
	head, err := c.FormFile(name)
	switch {
	case errors.Is(err, http.ErrMissingFile), errors.Is(err, http.ErrNotMultipart), err == nil && head.Filename == "":
		return "", nil, nil
	case err != nil:
		return "", nil, fmt.Errorf("reading the file that was sent: %w", batch.InTheMaking(err, "what came of it"))
	case head.Size > most:
		return "", nil, batch.Mendable.Errorf("%s holds %d bytes; at most %d are allowed", head.Filename, head.Size, most)
	}
	f, err := head.Open()
	if err != nil {
		return "", nil, batch.InTheMaking(err, head.Filename)
	}
	defer f.Close()
	data := make([]byte, head.Size)
	if _, err := io.ReadFull(f, data); err != nil {
		return "", nil, fmt.Errorf("%s: %w", head.Filename, err)
	}
	return head.Filename, data, nil
}
