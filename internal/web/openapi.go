package web

import (
	"encoding/json"
	"net/http"
	"strings"

	"rung/internal/calc"
	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// object is a JSON object of the description.
type object = map[string]any

// apiDescription answers with the OpenAPI description of the interface.
func (s *Server) apiDescription(w http.ResponseWriter, r *http.Request) {
	s.writeJSON(w, r, http.StatusOK, openAPI())
}

// openAPI describes the programming interface, every calculator from its entry
// in the registry.
//
// published: OpenAPI Specification 3.1.0; schemas in JSON Schema 2020-12.
func openAPI() object {
	schemas := object{"Quantity": quantityOut(), "QuantityIn": quantityIn(), "Error": errorSchema(), "Listing": listingSchema()}
	paths := object{
		"/api/calc": object{"get": object{
			"operationId": "listCalculators", "summary": "Every calculator with its fields, units, ranges and source.", "tags": []string{"calculators"},
			"responses": object{"200": answerOf("The calculators.", object{"type": "array", "items": ref("Listing")})},
		}},
	}
	for _, c := range calc.All() {
		schemas[c.Name+"-in"] = fieldsSchema(c.Fields, ref("QuantityIn"), false)
		schemas[c.Name+"-out"] = fieldsSchema(c.Results, ref("Quantity"), true)
		paths["/api/calc/"+c.Name] = object{"get": showOperation(c), "post": runOperation(c)}
		if c.Drawn {
			paths["/api/calc/"+c.Name+".svg"] = object{"get": drawOperation(c)}
		}
	}
	return object{
		"openapi": "3.1.0",
		"info": object{"title": "Rung", "version": "1", "description": "Calculators of the heating-and-cooling trade. Pressures are absolute unless the unit says gauge. " +
			"Nothing is answered outside the range that a source vouches for."},
		"paths":      paths,
		"components": object{"schemas": schemas},
	}
}

func ref(schema string) object { return object{"$ref": "#/components/schemas/" + schema} }

func answerOf(what string, schema object) object {
	return object{"description": what, "content": object{"application/json": object{"schema": schema}}}
}

// apiFailures are the answers to one object that cannot be worked out.
func apiFailures() object {
	return object{
		"400": answerOf("Not JSON, or a field that cannot be used as given.", ref("Error")),
		"404": answerOf("No such calculator or refrigerant.", ref("Error")),
		"422": answerOf("Outside the range that the source vouches for, or no solution.", ref("Error")),
	}
}

func withAnswer(responses object, ok object) object {
	responses["200"] = ok
	return responses
}

func runOperation(c calc.Calculator) object {
	one, all := ref(c.Name+"-in"), ref(c.Name+"-out")
	body := object{"schema": object{"oneOf": []object{one, {"type": "array", "items": one}}}}
	if c.Example != "" {
		body["example"] = json.RawMessage(c.Example)
	}
	return object{
		"operationId": "run-" + c.Name, "summary": c.Title, "description": c.About + " Source: " + c.Source, "tags": []string{c.Subject},
		"parameters":  []object{unitsParameter("si")},
		"requestBody": object{"required": true, "content": object{"application/json": body}},
		"responses": withAnswer(apiFailures(), answerOf("The result; of an array an array, in which each element fails alone.",
			object{"oneOf": []object{all, {"type": "array", "items": object{"oneOf": []object{all, ref("Error")}}}}})),
	}
}

func showOperation(c calc.Calculator) object {
	return object{"operationId": "describe-" + c.Name, "summary": "Fields, units, ranges and source of " + c.Name, "tags": []string{c.Subject},
		"responses": object{"200": answerOf("The calculator.", ref("Listing"))}}
}

func drawOperation(c calc.Calculator) object {
	parameters := []object{unitsParameter("us")}
	for _, f := range c.Fields {
		parameters = append(parameters, object{"name": f.Name, "in": "query", "required": !f.Optional, "description": describe(f), "schema": object{"type": "string"}})
	}
	return object{"operationId": "draw-" + c.Name, "summary": "Drawing: " + c.Title, "tags": []string{c.Subject}, "parameters": parameters,
		"responses": withAnswer(apiFailures(), object{"description": "The drawing.", "content": object{"image/svg+xml": object{"schema": object{"type": "string"}}}})}
}

func unitsParameter(usual string) object {
	return object{"name": "units", "in": "query", "description": "Units of the answer.", "schema": object{"type": "string", "enum": []string{"si", "us"}, "default": usual}}
}

// describe says what a field is and in which units it comes.
func describe(f calc.Field) string {
	text := capital(f.About)
	if f.Dim != quantity.DimNone {
		if text != "" {
			text += ". "
		}
		text += "Of the dimension " + string(f.Dim) + ", in " + strings.Join(tradeunit.Symbols(f.Dim), ", ") + "."
	}
	return text
}

// fieldsSchema describes an object with the fields; number is the schema of a
// quantity. Results may lack any field.
func fieldsSchema(fields []calc.Field, number object, results bool) object {
	properties, required := object{}, []string{}
	for _, f := range fields {
		properties[f.Name] = fieldSchema(f, number)
		if !f.Optional && !results {
			required = append(required, f.Name)
		}
	}
	schema := object{"type": "object", "properties": properties}
	if !results {
		schema["additionalProperties"] = false
		if len(required) > 0 {
			schema["required"] = required
		}
	}
	return schema
}

func fieldSchema(f calc.Field, number object) object {
	schema := object{}
	switch {
	case len(f.Columns) > 0:
		schema["type"], schema["items"] = "array", fieldsSchema(f.Columns, number, true)
	case f.Bool:
		schema["type"] = "boolean"
	case f.List:
		schema["type"], schema["items"] = "array", number
	case f.Name == "warnings":
		schema["type"], schema["items"] = "array", object{"type": "string"}
	case f.Dim != quantity.DimNone:
		schema["allOf"] = []object{number}
	case len(f.Words) > 0 && f.Loose:
		schema["type"], schema["examples"] = "string", f.Words
	case len(f.Words) > 0:
		schema["type"], schema["enum"] = "string", f.Words
	case f.Text:
		schema["type"] = "string"
	}
	if text := describe(f); text != "" {
		schema["description"] = text
	}
	return schema
}

func quantityOut() object {
	return object{"type": "object", "required": []string{"value", "unit"}, "description": "A number with its unit, never rounded.",
		"properties": object{"value": object{"type": []string{"number", "null"}}, "unit": object{"type": "string"}}}
}

func quantityIn() object {
	return object{
		"description": "A number with its unit; gauge only where the unit says so. A ratio may be a bare number.",
		"oneOf": []object{
			{"type": "string", "examples": []string{"118 psig", "54.5 F", "65 uF"}},
			{"type": "object", "required": []string{"value", "unit"}, "properties": object{"value": object{"type": "number"}, "unit": object{"type": "string"}}},
			{"type": "number"},
			{"type": "null"},
		},
	}
}

func errorSchema() object {
	kinds := []calc.Kind{calc.Invalid, calc.OutOfRange, calc.NotFound, calc.NoConvergence, calc.Internal}
	return object{"type": "object", "required": []string{"error"}, "properties": object{"error": object{
		"type": "object", "required": []string{"kind", "message"},
		"properties": object{"kind": object{"type": "string", "enum": kinds}, "field": object{"type": "string"}, "message": object{"type": "string"}},
	}}}
}

func listingSchema() object {
	text := object{"type": "string"}
	list := object{"type": "array", "items": object{"type": "object", "required": []string{"name"}, "properties": object{"name": text}}}
	return object{"type": "object", "required": []string{"name", "about", "source", "fields", "results"}, "properties": object{
		"name": text, "title": text, "subject": text, "about": text, "source": text, "example": object{}, "drawn": object{"type": "boolean"}, "fields": list, "results": list}}
}
