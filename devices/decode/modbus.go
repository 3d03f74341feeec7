package decode

// modbusFile is the table [modbus] as written.
type modbusFile struct {
	Unit      *int     `toml:"unit"`
	Function  *int     `toml:"function"`
	Register  *int     `toml:"register"`
	Type      *string  `toml:"type"`
	WordOrder *string  `toml:"word_order"`
	Scale     *float64 `toml:"scale"`
	InUnit    *string  `toml:"in_unit"`
}

// modbus checks the table [modbus]. The family's frames are not read yet, and the file is refused with that reason.
func (c *check) modbus(f *modbusFile) {
	c.within("modbus.unit", f.Unit, 1, 247)
	c.within("modbus.function", f.Function, 3, 4)
	c.within("modbus.register", f.Register, 0, 65535)
	if f.Type == nil {
		c.add("modbus.type", "missing; one of \"int16\", \"uint16\", \"int32\", \"uint32\", \"float32\"")
	} else {
		c.word("modbus.type", *f.Type, "int16", "uint16", "int32", "uint32", "float32")
	}
	if f.WordOrder != nil {
		c.word("modbus.word_order", *f.WordOrder, "high-first", "low-first")
	}
	c.scale("modbus.scale", f.Scale)
	c.inUnit("modbus.in_unit", f.InUnit)
	c.add("family", "gauges of family \"modbus-rtu\" cannot be read by this version; only \"text\" can")
}

// within checks a required whole number.
func (c *check) within(key string, found *int, low, high int) {
	if found == nil {
		c.add(key, "missing; allowed: %d to %d", low, high)
	} else if *found < low || *found > high {
		c.add(key, "found %d; allowed: %d to %d", *found, low, high)
	}
}

// inUnit checks a required unit.
func (c *check) inUnit(key string, found *string) {
	if found == nil {
		c.add(key, "missing; \"mm\" or \"in\"")
	} else {
		c.word(key, *found, "mm", "in")
	}
}
