package visit

import (
	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// Catalogue lists what the program knows, for programs and people.
type Catalogue struct {
	Checks     []CatalogueCheck  `json:"checks"`
	Causes     []CatalogueCause  `json:"causes"`
	Repairs    []CatalogueRepair `json:"repairs"`
	Complaints []Choice          `json:"complaints"`
	Plate      []CatalogueField  `json:"system"`
	Around     []CatalogueField  `json:"surroundings"`
}

// CatalogueCheck is a check with its points.
type CatalogueCheck struct {
	ID         string           `json:"check"`
	Name       string           `json:"name"`
	Instrument string           `json:"instrument"`
	Power      string           `json:"power"`
	Minutes    float64          `json:"minutes"`
	Safety     string           `json:"safety_class"`
	Needs      []string         `json:"needs"`
	Cautions   []string         `json:"cautions"`
	Points     []CataloguePoint `json:"points"`
}

// CataloguePoint is a point with its units or its closed list of words.
type CataloguePoint struct {
	ID      string   `json:"point"`
	Name    string   `json:"name"`
	Units   []string `json:"units,omitempty"`
	Words   []string `json:"words,omitempty"`
	Demands []string `json:"demands"`
	When    string   `json:"only_with,omitempty"`
}

// CatalogueCause is a fault with its repair.
type CatalogueCause struct {
	ID     string `json:"cause"`
	Group  string `json:"group"`
	Part   string `json:"part"`
	Text   string `json:"text"`
	Repair string `json:"repair"`
}

// CatalogueRepair is a repair.
type CatalogueRepair struct {
	ID      string  `json:"repair"`
	Name    string  `json:"name"`
	Minutes float64 `json:"minutes"`
}

// CatalogueField is a field of the nameplate or the surroundings.
type CatalogueField struct {
	ID    string   `json:"field"`
	Name  string   `json:"name"`
	Units []string `json:"units,omitempty"`
	Words []string `json:"words,omitempty"`
}

// Catalogue returns what the program knows.
func (s *Service) Catalogue() Catalogue {
	c := Catalogue{Complaints: s.Complaints("")}
	for i := range s.checks().Checks {
		c.Checks = append(c.Checks, s.catalogueCheck(i))
	}
	for _, f := range s.faults().Faults {
		c.Causes = append(c.Causes, CatalogueCause{f.ID, f.Group, f.Part, f.Text.EN, f.Repair})
	}
	for _, r := range s.faults().Repairs {
		c.Repairs = append(c.Repairs, CatalogueRepair{r.ID, r.Name.EN, r.Minutes})
	}
	for _, f := range plateFields() {
		c.Plate = append(c.Plate, CatalogueField{underscored(f.id), f.name, unitsOf(f.dim), f.words})
	}
	for _, f := range s.Surroundings() {
		c.Around = append(c.Around, CatalogueField{ID: underscored(f.ID), Name: f.Name, Units: unitsOf(f.Dim)})
	}
	return c
}

func unitsOf(dim quantity.Dimension) []string {
	if dim == quantity.DimNone {
		return nil
	}
	return tradeunit.Symbols(dim)
}

func (s *Service) catalogueCheck(i int) CatalogueCheck {
	k := &s.checks().Checks[i]
	c := CatalogueCheck{ID: k.ID, Name: k.Name.EN, Instrument: k.Instrument.EN, Power: string(k.Power), Minutes: k.Minutes,
		Safety: k.Safety, Needs: append([]string{}, k.Needs...), Cautions: []string{}}
	for _, step := range k.Steps {
		for _, id := range step.Cautions {
			if caution, known := s.checks().Caution(id); known {
				c.Cautions = append(c.Cautions, caution.Text.EN)
			}
		}
	}
	for j := range k.Points {
		p := &k.Points[j]
		point := CataloguePoint{ID: p.ID, Name: p.Name.EN, Units: unitsOf(p.Dim), Words: p.Words, When: string(p.When)}
		for _, d := range p.Demands {
			point.Demands = append(point.Demands, d.String())
		}
		c.Points = append(c.Points, point)
	}
	return c
}
