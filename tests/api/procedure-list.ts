import { type AnySchema, isContractProcedure } from '@orpc/contract'
import { z } from 'zod'
import { contract } from '#core/contracts/contract.ts'

export interface ListedProcedure {
  readonly path: readonly string[]
  readonly name: string
  /** undefined: it takes nothing. */
  readonly input: z.ZodType | undefined
  /** As the contract has it; undefined: it says nothing of its answer. */
  readonly output: AnySchema | undefined
}

function walk(node: object, path: readonly string[]): ListedProcedure[] {
  if (isContractProcedure(node)) {
    const { inputSchema, outputSchema } = node['~orpc']
    const input = inputSchema instanceof z.ZodType ? inputSchema : undefined
    return [{ path, name: path.join('.'), input, output: outputSchema }]
  }
  return Object.entries(node).flatMap(([name, child]: [string, object]) => walk(child, [...path, name]))
}

/** Every procedure of the contract: what is added there is here by itself. */
export const procedureList: readonly ListedProcedure[] = walk(contract, [])

/** The part of JSON Schema that describes what a procedure takes. */
export interface InputShape {
  readonly type?: string
  readonly properties?: Readonly<Record<string, InputShape>>
  readonly required?: readonly string[]
  readonly items?: InputShape
  readonly prefixItems?: readonly InputShape[]
  readonly additionalProperties?: InputShape | boolean
  readonly anyOf?: readonly InputShape[]
  readonly oneOf?: readonly InputShape[]
  readonly allOf?: readonly InputShape[]
  readonly enum?: readonly unknown[]
  readonly const?: unknown
  readonly minLength?: number
  readonly maxLength?: number
  readonly maxItems?: number
  readonly minItems?: number
  readonly minimum?: number
  readonly maximum?: number
  readonly pattern?: string
  readonly format?: string
  readonly contentEncoding?: string
}

export const shapeOf = (schema: z.ZodType): InputShape =>
  z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any', reused: 'inline' }) as InputShape
