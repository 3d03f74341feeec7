package record

import (
	"context"
	"errors"

	"os"
	"path/filepath"

	"sagitta/batch"
)

// copyWhole copies what from reads, makes the copy last and gives it its name.
func copyWhole(ctx context.Context, from executor, path string) error {
	return copyChecked(ctx, from, path, func(string) error { return nil })
}

// copyChecked is copyWhole, but that a copy which is not as it must be gets no name.
func copyChecked(ctx context.Context, from executor, path string, check func(made string) error) (err error) {
	part, err := os.MkdirTemp(filepath.Dir(path), "."+filepath.Base(path)+".*.part") // SQLite makes the copy's file itself
	if err != nil {
		return batch.InTheMaking(err, path)
	}
	made := filepath.Join(part, filepath.Base(path))
	defer func() { err = batch.InTheMaking(err, path, made, part) }()
	if err = copyTo(ctx, from, made); err == nil {
		err = os.Chmod(made, 0o640)
	}
	if err == nil {
		err = check(made)
	}
	if err == nil {
		err = Lasting(made, path)
	}
	return errors.Join(err, os.RemoveAll(part))
}
