// Package usb holds the one USB identity that tests speak of. It is invented: no adapter bears it.
package usb

// The adapter's identity. Tests that need several adapters give them other serial numbers.
const (
	Vendor  = "e71a"
	Product = "0b01"
	Serial  = "QM-7"
)
