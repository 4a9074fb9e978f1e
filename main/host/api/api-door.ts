import type { IncomingMessage, ServerResponse } from 'node:http'
import { setTimeout as pause } from 'node:timers/promises'
import { OpenAPIHandler } from '@orpc/openapi/node'
import { BodyLimitPlugin } from '@orpc/server/node'
import { API_PREFIX } from '../../../app/contract/api/index.ts'
import { type Said, said } from '../../../app/messages/said.ts'
import { GATE_LIMITS } from '../gate/limits.ts'
import { sendJson } from '../page/replies.ts'
import { Throttle } from '../page/throttle.ts'
import type { Services } from '../services.ts'
import { type ApiContext, problemOf } from './api-base.ts'
import { apiRouter } from './api-router.ts'
import { openApiText } from './openapi-text.ts'

/** Who sends more than this behind is told to come back, ms. */
const MOST_WAIT_MS = 2_000
const OPENAPI = `${API_PREFIX}/openapi.json`

const { largest } = GATE_LIMITS.programs
const handler = new OpenAPIHandler<ApiContext>(apiRouter, {
  plugins: [new BodyLimitPlugin({ maxBodySize: largest })],
})

export type ApiDoor = (request: IncomingMessage, response: ServerResponse) => Promise<void>

/** Answers other programs: token, limits of the gate, then the contract. */
export function apiDoor(services: Services): ApiDoor {
  const wrong = new Throttle()
  let running = 0

  const refuse = (response: ServerResponse, status: number, code: string, why: Said) => {
    response.setHeader('Connection', 'close')
    sendJson(response, { defined: true, code, status, message: why.words, data: problemOf(why) }, status)
  }

  return async (request, response) => {
    const path = request.url?.split('?')[0]
    if (path === OPENAPI && request.method === 'GET') {
      sendJson(response, JSON.parse(await openApiText()))
      return
    }
    const shown = /^Bearer ([\w-]{20,200})$/.exec(request.headers.authorization ?? '')?.[1]
    const token = shown === undefined ? undefined : services.tokens.holder(shown)
    if (!token) {
      response.setHeader('WWW-Authenticate', 'Bearer')
      if (wrong.isOneTooMany(request.socket.remoteAddress ?? ''))
        return refuse(response, 429, 'BUSY', said('too-many-without-token', {}))
      return refuse(response, 401, 'SIGN_IN', said('token-missing', {}))
    }
    const { gate } = services
    const waitMs =
      gate.draw('programs', Number(request.headers['content-length'] ?? 0)) + gate.brake('programs')
    if (waitMs > MOST_WAIT_MS || running >= gate.limits('programs').running) {
      response.setHeader('Retry-After', String(Math.ceil(Math.max(waitMs, 1000) / 1000)))
      return refuse(response, 429, 'BUSY', said('programs-ask-too-much', {}))
    }
    running += 1
    try {
      if (waitMs > 0) await pause(waitMs)
      response.setHeader('Cache-Control', 'no-store')
      response.setHeader('X-Content-Type-Options', 'nosniff')
      const { matched } = await handler.handle(request, response, {
        prefix: API_PREFIX,
        context: { services, token },
      })
      if (!matched)
        refuse(response, 404, 'NOT_FOUND', said('nothing-at-path', { path: path ?? '', openapi: OPENAPI }))
    } finally {
      running -= 1
    }
  }
}
