// SPDX-License-Identifier: GPL-3.0-or-later
// Validates an OpenAPI description against the schema of its version, and follows every reference
// in it, to a place in it or to a file beside it. usage: validate.mjs FILE [FOLDER of the other files]
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { Validator } from '@seriousme/openapi-schema-validator';

const [file, folder = dirname(file)] = process.argv.slice(2);
const validator = new Validator();
const result = await validator.validate(readFileSync(file, 'utf8'));
// It knows no references that lead to other files, and says so; these are followed below.
const valid = result.valid || String(result.errors).startsWith('Can\'t resolve ');
const complaints = valid ? [] : [JSON.stringify(result.errors, null, 1)];

function leads(reference) {
  const [name, path = ''] = reference.split('#');
  if (name) return existsSync(join(folder, name));
  let at = validator.specification;
  for (const step of path.split('/').slice(1))
    at = at?.[step.replaceAll('~1', '/').replaceAll('~0', '~')];
  return at !== undefined;
}

function follow(value) {
  if (value === null || typeof value !== 'object') return;
  if (typeof value.$ref === 'string' && !leads(value.$ref))
    complaints.push(`${value.$ref} leads nowhere`);
  Object.values(value).forEach(follow);
}
if (valid) follow(validator.specification);
for (const complaint of complaints) console.log(complaint);
process.exitCode = complaints.length > 0 ? 1 : 0;
