package site

import (
	"context"
	"errors"
	"net/http"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/export"
	"sagitta/station/web/form"
)

// statusGone is what is noted of a request whose browser went away before the answer.
const statusGone = 499

// refusal is an error of the request itself, with the status that HTTP has for it.
type refusal struct {
	error
	status int
}

// StatusOf is the HTTP status of what could not be done: the one place that maps errors to statuses. What the machine could not
// do is logged.
func (c *Request) StatusOf(err error) int {
	status := statusOf(err)
	if status >= http.StatusInternalServerError {
		logged(c.Context, status, err)
	}
	return status
}

func statusOf(err error) int {
	var own refusal
	switch {
	case errors.As(err, &own):
		return own.status
	case errors.Is(err, context.Canceled):
		return statusGone
	}
	switch batch.KindOf(err) {
	case batch.Mendable:
		return http.StatusUnprocessableEntity
	case batch.Conflict:
		return http.StatusConflict
	case batch.Absent:
		return http.StatusNotFound
	case batch.Unproven:
		return http.StatusUnauthorized
	case batch.Forbidden:
		return http.StatusForbidden
	}
	if errors.Is(err, record.ErrDiskFull) || errors.Is(err, record.ErrNotWritten) || errors.Is(err, export.ErrNoRoom) {
		return http.StatusInsufficientStorage
	}
	return http.StatusInternalServerError
}

// Refused is the status of a form that is shown again: of the error that it was refused with, else that of fields to mend.
func (c *Request) Refused(f *form.Form) int {
	if err := f.Refusal(); err != nil {
		return c.StatusOf(err)
	}
	return http.StatusUnprocessableEntity
}
