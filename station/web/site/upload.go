package site

import (
	"fmt"
)

// Upload reads an uploaded file of at most the given size; nil when none was chosen.
func Upload(c *Request, name string, most int64) (string, []byte, error) {
	head, err := c.FormFile(name)
	if err != nil || head.Filename == "" {
		return "", nil, nil
	}
	if head.Size > most {
		return "", nil, fmt.Errorf("%s holds %d bytes; at most %d are allowed", head.Filename, head.Size, most)
	}
	f, err := head.Open()
	if err != nil {
		return "", nil, err
	}
	defer f.Close()
	data := make([]byte, head.Size)
	if _, err := f.ReadAt(data, 0); err != nil {
		return "", nil, fmt.Errorf("%s: %w", head.Filename, err)
	}
	return head.Filename, data, nil
}
