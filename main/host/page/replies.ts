import type { IncomingMessage, ServerResponse } from 'node:http'
import { first } from '../../../app/base/lists.ts'
import type { ServedFile } from './files.ts'

const POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  // Inline styles only: the report's own page is shown in a sandboxed frame, which inherits this policy.
  "style-src 'self' 'unsafe-inline'",
  "img-src 'self' data: blob:",
  "font-src 'self'",
  "connect-src 'self'",
  "frame-src 'self' blob:",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ')

const HEADERS: Record<string, string> = {
  'Content-Security-Policy': POLICY,
  'X-Content-Type-Options': 'nosniff',
  'Referrer-Policy': 'no-referrer',
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Resource-Policy': 'same-origin',
  'Permissions-Policy': 'camera=(), microphone=(), geolocation=()',
}

export function sendFile(
  files: Map<string, ServedFile>,
  request: IncomingMessage,
  response: ServerResponse,
): void {
  const path = first((request.url ?? '/').split('?'))
  const file = files.get(path)
  if (!file) {
    sendWords(response, 404, 'There is nothing here.')
    return
  }
  response.writeHead(200, {
    ...HEADERS,
    'Content-Type': file.type,
    'Content-Length': file.body.byteLength,
    'Cache-Control': file.immutable ? 'public, max-age=31536000, immutable' : 'no-store',
  })
  response.end(request.method === 'HEAD' ? undefined : file.body)
}

export function sendWords(response: ServerResponse, status: number, words: string): void {
  response.writeHead(status, {
    ...HEADERS,
    'Content-Type': 'text/plain; charset=utf-8',
    'Cache-Control': 'no-store',
  })
  response.end(`${words}\n`)
}

export function sendJson(response: ServerResponse, value: unknown, status = 200): void {
  response.writeHead(status, { ...HEADERS, 'Content-Type': 'application/json', 'Cache-Control': 'no-store' })
  response.end(JSON.stringify(value))
}
