// Judges documents by JSON Schemas: reads {schemas: {kind: schema}, documents: [{kind, yaml or value}]} and writes a list of true or false.
const Ajv = require('ajv/dist/2020');
const YAML = require('yaml');

const asked = JSON.parse(require('fs').readFileSync(0, 'utf8'));
const ajv = new Ajv({ strict: false, validateFormats: false });
const ready = {};
for (const kind in asked.schemas) ready[kind] = ajv.compile(asked.schemas[kind]);
const verdicts = asked.documents.map((d) => ready[d.kind](d.yaml ? YAML.parse(d.yaml, { version: '1.2' }) : d.value));
console.log(JSON.stringify(verdicts));
