package site

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"

	"sagitta/batch"
)

// hashAssets gives every asset a path that changes with its content, so that browsers may keep it for ever.
func (s *Site) hashAssets() error {
	return fs.WalkDir(files, "assets", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := files.ReadFile(name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(text)
		base := path.Base(name)
		s.assets[base] = "/assets/" + hex.EncodeToString(sum[:6]) + "/" + base
		return nil
	})
}

// assetPath is where a page finds an asset.
func (s *Site) assetPath(name string) (string, error) {
	if p, ok := s.assets[name]; ok {
		return p, nil
	}
	return "", fmt.Errorf("no asset %q", name)
}

// asset serves one embedded file.
func (s *Site) asset(c *Request) error {
	if s.assets[c.Param("name")] != c.Request.URL.Path {
		return batch.Absent.Errorf("There is no file at %s.", c.Request.URL.Path)
	}
	c.Header("Cache-Control", "public, max-age=31536000, immutable")
	c.FileFromFS("assets/"+c.Param("name"), http.FS(files))
	return nil
}
