package decode

import (
	"fmt"
	"path"
	"regexp"
)

// lineKeys finds the keys of the table [line], which precedes every other table in the embedded decoders.
var lineKeys = regexp.MustCompile(`(?m)^(baud|data_bits|parity|stop_bits) = .*$`)

// WithLine returns the text of a built-in decoder with its line set another way, to be used as a gauge's own decoder. The
// error is Find's, or says that the text with that line is no decoder.
func WithLine(name string, l Line) ([]byte, error) {
	d, err := Find(name)
	if err != nil {
		return nil, err
	}
	files, err := builtinFiles.ReadDir("builtin")
	if err != nil {
		return nil, err
	}
	for _, f := range files {
		source, err := builtinFiles.ReadFile(path.Join("builtin", f.Name()))
		if err != nil {
			return nil, err
		}
		if own, err := Load(f.Name(), source); err != nil || own.Name != d.Name {
			continue
		}
		values := map[string]string{"baud": fmt.Sprint(l.Baud), "data_bits": fmt.Sprint(l.DataBits), "parity": fmt.Sprintf("%q", l.Parity), "stop_bits": fmt.Sprint(l.StopBits)}
		text := lineKeys.ReplaceAllFunc(source, func(key []byte) []byte {
			word := lineKeys.FindSubmatch(key)[1]
			return fmt.Appendf(nil, "%s = %s", word, values[string(word)])
		})
		set, err := Load(name, text)
		if err != nil {
			return nil, err
		}
		if set.Line != l {
			return nil, fmt.Errorf("decoder %q has no table [line] that could be set to %s", name, l.Words())
		}
		return text, nil
	}
	return nil, fmt.Errorf("decoder %q has no text of its own", name)
}
