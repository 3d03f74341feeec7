package decode

import "slices"

// Part is a stretch of a frame's bytes and what it is.
type Part struct {
	Role     Role
	From, To int // bytes of the frame, To not among them
}

// Role is what a byte of a frame is for.
type Role string

// The roles. Text is what stands between the others and is the same in every frame, or means nothing here.
const (
	RoleStart    Role = "start"
	RoleChannel  Role = "channel"
	RoleSign     Role = "sign"
	RoleDigits   Role = "digits"
	RoleUnit     Role = "unit"
	RoleStatus   Role = "status"
	RoleChecksum Role = "checksum"
	RoleEnd      Role = "end"
	RoleText     Role = "text"
)

// groupRoles are the roles of a pattern's named groups, in textGroups' order.
var groupRoles = [len(textGroups)]Role{RoleSign, RoleDigits, RoleUnit, RoleChannel, RoleStatus}

// Parts says what the bytes of a whole frame are for, its marks included, in order and without gaps. A frame that the decoder does not
// read, and one of a family whose frames have no fields of their own, is one part of RoleText.
func (d *Decoder) Parts(raw []byte) []Part {
	t, isText := d.reader.(*text)
	from, to := len(d.Frame.Start), len(raw)-len(d.Frame.End)
	whole := []Part{{RoleText, 0, len(raw)}}
	if !isText || to < from {
		return whole
	}
	if v, _ := d.read(raw[:to]); v == nil {
		return whole
	}
	inner := to - d.Checksum.size()
	var fields []Part
	if _, status := t.status[string(raw[from:inner])]; status {
		fields = append(fields, Part{RoleStatus, from, inner})
	} else {
		m := t.pattern.FindSubmatchIndex(raw[from:inner])
		for group, role := range groupRoles {
			if i := 2 * t.group[group]; i > 0 && m[i] >= 0 {
				fields = append(fields, Part{role, from + m[i], from + m[i+1]})
			}
		}
	}
	fields = append(fields, Part{RoleStart, 0, from}, Part{RoleChecksum, inner, to}, Part{RoleEnd, to, len(raw)})
	fields = slices.DeleteFunc(fields, func(p Part) bool { return p.From == p.To })
	slices.SortStableFunc(fields, func(a, b Part) int { return a.From - b.From })
	var parts []Part
	at := 0
	for _, f := range fields {
		if f.From > at {
			parts = append(parts, Part{RoleText, at, f.From})
		}
		parts = append(parts, f)
		at = f.To
	}
	return parts
}
