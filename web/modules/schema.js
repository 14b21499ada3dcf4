/**
 * Reads a JSON Schema (2020-12, the part of it that the core's types produce) into the tree that a form is built from.
 *
 * @typedef {{key: string, required: boolean, fallback: unknown}} Common
 * @typedef {Common & {kind: "number", minimum: number | undefined, maximum: number | undefined, whole: boolean}} NumberField
 * @typedef {Common & {kind: "text", longest: number | undefined}} TextField
 * @typedef {Common & {kind: "choice", choices: string[]}} ChoiceField
 * @typedef {Common & {kind: "choices", choices: string[]}} ChoicesField any of them
 * @typedef {Common & {kind: "flag"}} FlagField
 * @typedef {Common & {kind: "range", min: NumberField, max: NumberField, step: NumberField | undefined}} RangeField
 * @typedef {Common & {kind: "group", nullable: boolean, fields: Field[]}} GroupField
 * @typedef {Common & {kind: "list", least: number, most: number, item: GroupField}} ListField
 * @typedef {NumberField | TextField | ChoiceField | ChoicesField | FlagField | RangeField | GroupField | ListField} Field
 * @typedef {Record<string, any>} Schema
 */

/** @param {Schema} schema of an object @returns {Field[]} in reading order */
export function readSchema(schema) {
  const required = new Set(schema.required ?? []);
  return Object.entries(schema.properties ?? {}).map(([key, property]) =>
    readField(key, property, required.has(key), schema.default?.[key]),
  );
}

/** @param {string} key @param {Schema} schema @param {boolean} required @param {unknown} inherited default @returns {Field} */
function readField(key, schema, required, inherited) {
  const { of, nullable } = withoutNull(schema);
  const common = { key, required, fallback: schema.default ?? of.default ?? inherited };
  const choices = choicesOf(of);
  if (choices) return { ...common, kind: "choice", choices };
  switch (typeOf(of)) {
    case "number":
    case "integer":
      return { ...common, kind: "number", minimum: of.minimum, maximum: of.maximum, whole: typeOf(of) === "integer" };
    case "boolean":
      return { ...common, kind: "flag" };
    case "array": {
      const any = choicesOf(of.items ?? {});
      if (any) return { ...common, kind: "choices", choices: any };
      return {
        ...common,
        kind: "list",
        least: of.minItems ?? 0,
        most: of.maxItems ?? Infinity,
        item: readGroup("", of.items ?? {}, false),
      };
    }
    case "object":
      return rangeOf(readGroup(key, { ...of, default: common.fallback }, nullable, required));
    default:
      return { ...common, kind: "text", longest: of.maxLength };
  }
}

/** @param {string} key @param {Schema} schema @param {boolean} nullable @param {boolean} [required] @returns {GroupField} */
function readGroup(key, schema, nullable, required = true) {
  return { key, required, fallback: schema.default, kind: "group", nullable, fields: readSchema(schema) };
}

/** A group of a least and a most, with a step or without, is a range. @param {GroupField} group @returns {GroupField | RangeField} */
function rangeOf(group) {
  const [min, max, step] = ["min", "max", "step"].map((end) => group.fields.find(({ key }) => key === end));
  if (min?.kind !== "number" || max?.kind !== "number" || group.fields.length !== (step ? 3 : 2)) return group;
  const { key, required, fallback } = group;
  return { key, required, fallback, kind: "range", min, max, step: step?.kind === "number" ? step : undefined };
}

/** @param {Schema} schema @returns {{of: Schema, nullable: boolean}} the schema apart from null */
function withoutNull(schema) {
  const options = /** @type {Schema[] | undefined} */ (schema.anyOf);
  const some = options?.find((option) => option.type !== "null");
  if (!options || !some) return { of: schema, nullable: [schema.type].flat().includes("null") };
  return { of: some, nullable: options.length > 1 };
}

/** @param {Schema} schema @returns {string} */
function typeOf(schema) {
  const types = /** @type {string[]} */ ([schema.type ?? "string"].flat());
  return types.find((type) => type !== "null") ?? "string";
}

/** @param {Schema} schema @returns {string[] | undefined} */
function choicesOf(schema) {
  const options = /** @type {Schema[] | undefined} */ (schema.oneOf);
  if (options)
    return options.flatMap((option) => (option.const !== undefined ? [String(option.const)] : (option.enum ?? [])));
  return schema.enum;
}
