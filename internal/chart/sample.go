package chart

// Sample is a small made-up diagram, for the gallery and the tests: a
// contactor with its coil circuit, a compressor and its run capacitor.
func Sample() Diagram {
	l1, l2 := Node{ID: "l1", Name: "L1", Note: "240 V", Live: Flowing, Href: "?red=l1"}, Node{ID: "l2", Name: "L2", Note: "0 V", Live: Flowing, Href: "?red=l2"}
	t1 := Node{ID: "t1", Name: "T1", Note: "240 V", Live: Flowing, Href: "?red=t1", Lead: "red"}
	t2 := Node{ID: "t2", Name: "T2", Note: "0 V", Live: Flowing, Href: "?red=t2", Lead: "black"}
	herm := Node{ID: "herm", Name: "HERM", Note: "355 V", Live: Flowing, Href: "?red=herm"}
	r, c := Node{ID: "r", Name: "R", Note: "26 V", Live: Flowing, Href: "?red=r"}, Node{ID: "c", Name: "C", Note: "0 V", Live: Flowing, Href: "?red=c"}
	mid := func(id, name string) Node {
		return Node{ID: id, Name: name, Note: "26 V", Live: Flowing, Href: "?red=" + id}
	}
	ch := Node{ID: "ch", Name: "1", Note: "240 V", Live: Waiting, Href: "?red=ch"}
	dead := Node{ID: "ch2", Name: "2", Note: "0 V", Live: Waiting, Href: "?red=ch2"}
	return Diagram{
		Label: "Ladder diagram of the outdoor unit while cooling",
		Sections: []Section{
			{Heading: "240 V · outdoor unit", Left: l1, Right: l2, Rungs: []Rung{
				{Name: "Compressor, run winding", State: "carries 11.2 A", Nodes: []Node{l1, t1, t2, l2}, Devices: []Device{
					{ID: "contactor-l1", Name: "Contactor L1-T1", Kind: Contact, State: "closed", Live: Flowing},
					{ID: "compressor", Name: "Compressor C to R", Kind: Motor, State: "running", Live: Flowing},
					{ID: "contactor-l2", Name: "Contactor T2-L2", Kind: Contact, State: "closed", Live: Flowing},
				}},
				{Name: "Compressor, start winding", State: "carries 5.1 A", Nodes: []Node{t1, herm, t2}, Devices: []Device{
					{ID: "start", Name: "Compressor C to S", Kind: Winding, State: "", Live: Flowing},
					{ID: "run-capacitor-herm", Name: "Run capacitor, HERM section", Kind: Capacitor, State: "40 µF", Live: Flowing},
				}},
				{Name: "Crankcase heater", State: "no current: its thermostat is open", Nodes: []Node{l1, ch, dead, l2}, Devices: []Device{
					{ID: "fuse", Name: "Fuse", Kind: Fuse, State: "good", Live: Waiting},
					{ID: "heater-stat", Name: "Heater thermostat", Kind: Contact, Open: true, State: "open", Live: Waiting},
					{ID: "heater", Name: "Crankcase heater", Kind: Resistance, State: "cold", Live: Dead},
				}},
			}},
			{Heading: "24 V · control", Left: r, Right: c, Rungs: []Rung{
				{Name: "Contactor coil", State: "carries 0.4 A", Nodes: []Node{r, mid("y", "Y"), mid("y1", "3"), mid("y2", "4"), c}, Devices: []Device{
					{ID: "thermostat-y", Name: "Thermostat R-Y", Kind: Contact, State: "closed", Live: Flowing},
					{ID: "float", Name: "Float switch", Kind: Contact, State: "closed", Live: Flowing},
					{ID: "lps", Name: "Low-pressure switch", Kind: Contact, State: "closed", Live: Flowing},
					{ID: "coil", Name: "Contactor coil", Kind: Coil, State: "pulled in", Live: Flowing},
				}},
			}},
		},
	}
}
