package site

import (
	"errors"
	"fmt"
	"io"

	"sagitta/batch"
)

// Upload reads an uploaded file of at most the given size; nil when none was chosen. Mendable: it is larger.
func Upload(c *Request, name string, most int64) (string, []byte, error) {
	all, err := Uploads(c, name, most)
	if len(all) == 0 || err != nil {
		return "", nil, err
	}
	return all[0].Name, all[0].Content, nil
}

// Uploaded is a file that was sent with a form.
type Uploaded struct {
	Name    string // as the browser calls it
	Content []byte
}

// Uploads reads the files that were chosen in one field, each of at most the given size. Mendable: one is larger.
func Uploads(c *Request, name string, most int64) ([]Uploaded, error) {
	if c.Request.MultipartForm == nil {
		return nil, nil
	}
	var all []Uploaded
	for _, head := range c.Request.MultipartForm.File[name] {
		if head.Filename == "" {
			continue
		}
		if head.Size > most {
			return nil, batch.Mendable.Errorf("%s holds %d bytes; at most %d are allowed", head.Filename, head.Size, most)
		}
		f, err := head.Open()
		if err != nil {
			return nil, batch.InTheMaking(err, head.Filename)
		}
		content := make([]byte, head.Size)
		_, err = io.ReadFull(f, content)
		if err := errors.Join(err, f.Close()); err != nil {
			return nil, fmt.Errorf("%s: %w", head.Filename, err)
		}
		all = append(all, Uploaded{head.Filename, content})
	}
	return all, nil
}
