package site

import (
	"bytes"
	"fmt"
	"net/url"
	"strings"
)

// Attachment makes the answer a file to be kept under a name (RFC 6266): an ASCII name for old programs, the true one with it.
func (c *Request) Attachment(name string) {
	var ascii bytes.Buffer
	for _, r := range name {
		if r < ' ' || r > '~' || r == '"' || r == '\\' || r == '/' {
			r = '_'
		}
		ascii.WriteRune(r)
	}
	c.Header("Content-Disposition", fmt.Sprintf(`attachment; filename="%s"; filename*=UTF-8''%s`, ascii.String(), strings.ReplaceAll(url.QueryEscape(name), "+", "%20")))
}
