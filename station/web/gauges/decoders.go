package gauges

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"sagitta/devices/decode"
	"sagitta/export"
	"sagitta/station/web/form"
)

// keptDecoder is a decoder's file that the station keeps beside its record, made of what a gauge sent. A gauge's entry keeps its decoder's
// text itself: the files are for further gauges that send the same, for listen and decode, and for a person to make stricter.
type keptDecoder struct{ file, name, text string }

// keptDecoders reads the files; one that is no decoder any more, or cannot be read, keeps no gauge from being edited.
func (s *server) keptDecoders() []keptDecoder {
	if s.opt.DecoderDir == "" {
		return nil
	}
	files, err := fs.Glob(os.DirFS(s.opt.DecoderDir), "*.toml")
	if err != nil {
		return nil
	}
	var kept []keptDecoder
	for _, file := range files {
		text, err := os.ReadFile(filepath.Join(s.opt.DecoderDir, file))
		if err != nil {
			continue
		}
		if d, err := decode.Load(file, text); err == nil {
			kept = append(kept, keptDecoder{file, d.Name, string(text)})
		}
	}
	return kept
}

// decoders are what a gauge's decoder may be picked from: the built-in ones by name, and the files that are kept.
func (s *server) decoders() []form.Option {
	var options []form.Option
	for _, d := range decode.Builtin() {
		options = append(options, form.Option{Value: d.Name, Label: d.Name})
	}
	for _, k := range s.keptDecoders() {
		options = append(options, form.Option{Value: k.file, Label: k.name + " (" + k.file + ")"})
	}
	return options
}

// decoderOf is the text of the file of that name, else what was given.
func (s *server) decoderOf(nameOrText string) string {
	for _, k := range s.keptDecoders() {
		if k.file == nameOrText {
			return k.text
		}
	}
	return nameOrText
}

// keepDecoder writes a decoder's file named for a gauge, with a number behind its name where another decoder has it. The error says what
// could not be written.
func (s *server) keepDecoder(gauge, text string) error {
	if s.opt.DecoderDir == "" {
		return nil
	}
	if err := os.MkdirAll(s.opt.DecoderDir, 0o750); err != nil {
		return fmt.Errorf("the folder %s for decoders cannot be made: %w", s.opt.DecoderDir, err)
	}
	for n := 1; ; n++ {
		name := fileName(gauge)
		if n > 1 {
			name = fmt.Sprintf("%s-%d", name, n)
		}
		path := filepath.Join(s.opt.DecoderDir, name+".toml")
		was, err := os.ReadFile(path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return export.WriteFile(path, func(w io.Writer) error { _, err := io.WriteString(w, text); return err })
		case err != nil:
			return err
		case string(was) == text:
			return nil
		}
	}
}

// fileName makes a file's name of a gauge's.
func fileName(gauge string) string {
	words := strings.FieldsFunc(strings.ToLower(gauge), func(r rune) bool { return (r < 'a' || r > 'z') && (r < '0' || r > '9') })
	if len(words) == 0 {
		return "gauge"
	}
	return strings.Join(words, "-")
}
