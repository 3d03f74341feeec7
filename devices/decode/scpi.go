package decode

// scpiFile is the table [scpi] as written.
type scpiFile struct {
	Query  *string `toml:"query"`
	InUnit *string `toml:"in_unit"`
}

// scpi checks the table [scpi]. The family's frames are not read yet, and the file is refused with that reason.
func (c *check) scpi(f *scpiFile) {
	if f.Query == nil || *f.Query == "" {
		c.add("scpi.query", "missing; the query that asks for a reading, such as \"MEAS?\"")
	}
	c.inUnit("scpi.in_unit", f.InUnit)
	c.add("family", "gauges of family \"scpi\" cannot be read by this version; only \"text\" can")
}
