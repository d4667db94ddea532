package web_test

import (
	"fmt"

	"drover/store/storetest"
)

// dataMatrix are the rows of the matrix about consent, what guardians read and what is kept.
func dataMatrix(f storetest.Fixture) map[string]row {
	return map[string]row{
		"GET /report":                           {303, 403, 403, 200, 403, 200, 403, 403, nil},
		"GET /report/{id}":                      {303, 403, 403, 200, 403, 404, 403, 403, nil},
		"GET /report/{id}/consent":              {303, 403, 403, 200, 403, 404, 403, 403, nil},
		"POST /report/{id}/consent":             {403, 403, 403, 303, 403, 404, 403, 403, fields("do", "give", "version", "0")},
		"GET /report/{id}/terms/{t}":            {303, 403, 403, 404, 403, 404, 403, 403, nil}, // none is signed
		"GET /students/{id}/kin":                {303, 200, 403, 403, 403, 403, 404, 403, nil},
		"POST /students/{id}/kin":               {403, 404, 403, 403, 403, 403, 404, 403, fields("guardian", "1", "number", "1")},
		"POST /students/{id}/guardian/{g}/part": {403, 409, 403, 403, 403, 403, 404, 403, fields()}, // the only child
		"GET /students/{id}/terms":              {303, 200, 403, 403, 403, 403, 404, 403, nil},
		"POST /students/{id}/terms":             {403, 422, 403, 403, 403, 403, 404, 403, fields("title", "")},
		"GET /students/{id}/terms/{t}":          {303, 404, 403, 403, 403, 403, 404, 403, nil},
		"POST /students/{id}/terms/{t}":         {403, 404, 403, 403, 403, 403, 404, 403, fields("do", "drop")},
		"GET /report/{id}/data":                 {303, 403, 403, 200, 403, 404, 403, 403, nil},
		"POST /report/{id}/data":                {403, 403, 403, 303, 403, 404, 403, 403, fields()},
		"GET /report/{id}/data/{x}":             {303, 403, 403, 404, 403, 404, 403, 403, nil}, // none is made
		"GET /exports":                          {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /exports":                         {403, 303, 403, 403, 403, 403, 404, 403, fields("student", fmt.Sprint(f.Student.Person))},
		"GET /exports/{id}":                     {303, 404, 403, 403, 403, 403, 404, 403, nil},
		"GET /report/{id}/card":                 {303, 403, 403, 200, 403, 404, 403, 403, nil},
		"POST /report/{id}/card":                {403, 403, 403, 303, 403, 404, 403, 403, fields()},
		"GET /report/{id}/certificate/{code}":   {303, 403, 403, 200, 403, 404, 403, 403, nil},
		"GET /notice":                           {303, 403, 200, 200, 200, 200, 403, 200, nil},
		"GET /keeping":                          {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /keeping":                         {403, 422, 403, 403, 403, 403, 422, 403, fields("games", "99")},
		"GET /notices":                          {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"POST /notices":                         {403, 422, 403, 403, 403, 403, 422, 403, fields("for", "child", "body", "")},
		"GET /notices/{for}/{version}":          {303, 200, 403, 403, 403, 403, 200, 403, nil},
		"GET /report/{id}/erase":                {303, 403, 403, 200, 403, 404, 403, 403, nil},
		"POST /report/{id}/erase":               {403, 403, 403, 303, 403, 404, 403, 403, fields()},
		"POST /report/{id}/erase/stop":          {403, 403, 403, 303, 403, 404, 403, 403, fields()},
		"POST /students/{id}/erase":             {403, 303, 403, 403, 403, 403, 404, 403, fields()},
		"GET /welfare/erasures":                 {303, 403, 403, 403, 403, 403, 200, 403, nil}, // here an officer alone, there an owner, too
		"POST /welfare/erasures":                {403, 403, 403, 403, 403, 403, 422, 403, fields("number", "x")},
		"POST /welfare/erasures/{id}/confirm":   {403, 403, 403, 403, 403, 403, 404, 403, fields()},
		"POST /welfare/erasures/{id}/stop":      {403, 403, 403, 403, 403, 403, 404, 403, fields()},
		"GET /welfare/consents":                 {303, 403, 403, 403, 403, 403, 403, 403, nil},
		"POST /welfare/consents":                {403, 403, 403, 403, 403, 403, 403, 403, fields("student", "1", "consent_by", "A", "consent_on", "2026-01-02")},
	}
}
