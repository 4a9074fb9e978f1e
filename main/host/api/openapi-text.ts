import { type ConditionalSchemaConverter, type JSONSchema, OpenAPIGenerator } from '@orpc/openapi'
import { z } from 'zod'
import { API_PREFIX, apiContract } from '../../../app/contract/api/index.ts'
import { Bytes } from '../../../app/contract/call.ts'
import packageJson from '../../../package.json' with { type: 'json' }

/** Schemas of the contract as JSON Schema, which OpenAPI 3.1 is made of; files are binary strings. */
const ofZod: ConditionalSchemaConverter = {
  condition: (schema) => schema instanceof z.ZodType,
  convert: (schema, { strategy }) => {
    const own = schema as unknown as z.ZodType
    if (own === Bytes) return [true, { type: 'string', contentMediaType: '*/*' }]
    const { $schema: _dialect, ...json } = z.toJSONSchema(own, { io: strategy, unrepresentable: 'any' })
    return [!own.safeParse(undefined).success, json as unknown as JSONSchema]
  },
}

let made: Promise<string> | undefined

/** The text of the interface, OpenAPI 3.1, as JSON. */
export function openApiText(): Promise<string> {
  made ??= new OpenAPIGenerator({ schemaConverters: [ofZod] })
    .generate(apiContract, {
      info: {
        title: 'Stillpoint, interface for programs',
        version: packageJson.version,
        description:
          'Orders in, states and certificates out, points and readings read. Every call shows a token that somebody who sees to the station has made.',
      },
      servers: [{ url: API_PREFIX }],
      security: [{ token: [] }],
      components: { securitySchemes: { token: { type: 'http', scheme: 'bearer' } } },
    })
    .then((document) => `${JSON.stringify(document, null, 1)}\n`)
  return made
}
