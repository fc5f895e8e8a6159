import { expect, it } from 'vitest'
import { type InputShape, procedureList, shapeOf } from '#tests/api/procedure-list.ts'

/** Places of an input that take a text or a list of any length. */
function unbounded(shape: InputShape, at: string): string[] {
  const inside = [
    ...Object.entries(shape.properties ?? {}).flatMap(([name, part]) => unbounded(part, `${at}.${name}`)),
    ...(shape.items ? unbounded(shape.items, `${at}[]`) : []),
    ...(shape.prefixItems ?? []).flatMap((part, index) => unbounded(part, `${at}[${index}]`)),
    ...(typeof shape.additionalProperties === 'object' ? unbounded(shape.additionalProperties, `${at}{}`) : []),
    ...[...(shape.anyOf ?? []), ...(shape.oneOf ?? []), ...(shape.allOf ?? [])].flatMap((part) => unbounded(part, at)),
  ]
  const isChoice = shape.enum !== undefined || shape.const !== undefined
  if (
    shape.type === 'string' &&
    !isChoice &&
    shape.maxLength === undefined &&
    shape.pattern === undefined &&
    shape.contentEncoding === undefined
  )
    inside.push(`${at}: a text without a longest length`)
  if (shape.type === 'array' && shape.items !== undefined && shape.maxItems === undefined)
    inside.push(`${at}: a list without a greatest length`)
  return inside
}

it('every procedure that takes something says what, and how much of it', () => {
  expect(procedureList.length).toBeGreaterThan(25)
  expect(procedureList.flatMap(({ name, input }) => (input ? unbounded(shapeOf(input), name) : []))).toEqual([])
})
