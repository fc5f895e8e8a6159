import { randomBytes } from 'node:crypto'
import { passName } from '#core/contracts/pass.ts'

/** Where the build marks each script, style and the nonce's meta tag in index.html (`html.cspNonce` of Vite). */
const mark = '__NONCE__'

export const newNonce = () => randomBytes(18).toString('base64url')

/** A page that may load only what the app itself serves; scripts and styles in the page need this answer's nonce. */
export function withPolicy(page: string): { page: string; policy: string } {
  const nonce = newNonce()
  const policy = [
    // blob: is for pictures of tickets, which the page makes of bytes that it was given by a procedure; no other page
    // can make one for it. Scripts, styles, frames and workers stay without.
    "default-src 'none'",
    `script-src 'self' 'nonce-${nonce}'`,
    `style-src 'self' 'nonce-${nonce}'`,
    "img-src 'self' data: blob:",
    "font-src 'self'",
    "connect-src 'self'",
    "worker-src 'self'",
    "manifest-src 'self'",
    "base-uri 'none'",
    "form-action 'none'",
    "frame-ancestors 'none'",
    "object-src 'none'",
  ].join('; ')
  return { page: page.replaceAll(mark, nonce), policy }
}

/** The policy of the worker that keeps the app's files on a phone: it may fetch those, and no more. */
export const workerPolicy = "default-src 'none'; connect-src 'self'; frame-ancestors 'none'"

/** The policy of an answer that is no page: opened as one, it could load and run nothing. */
export const noContent = "default-src 'none'; frame-ancestors 'none'; sandbox"

/** Headers every answer carries, over either window. */
export const commonHeaders = {
  'x-content-type-options': 'nosniff',
  'referrer-policy': 'no-referrer',
  'x-frame-options': 'DENY',
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-resource-policy': 'same-origin',
  'permissions-policy': 'camera=(), geolocation=(), microphone=(), usb=(), serial=(), hid=(), payment=()',
} as const

/** A plain sentence as an answer, or JSON that says it: for what is refused before a procedure or file is reached. */
export function sentenceAnswer(status: number, sentence: string, json?: string): Response {
  const headers = {
    ...commonHeaders,
    'content-type': json === undefined ? 'text/plain; charset=utf-8' : 'application/json',
    'cache-control': 'no-store',
    'content-security-policy': noContent,
  }
  return new Response(json ?? `${sentence}\n`, { status, headers })
}

/**
 * The page that a one-time address answers with: it keeps the pass of this browser's calls under the app's own origin
 * and goes on to the app. pass: base64url.
 */
export function entrance(pass: string, cookie: string): Response {
  const nonce = newNonce()
  const keep = `localStorage.setItem('${passName}', document.currentScript.dataset.pass); location.replace('/')`
  const page =
    '<!doctype html><html lang="en"><meta charset="utf-8"><title>Tareline</title>' +
    `<script nonce="${nonce}" data-pass="${pass}">${keep}</script></html>\n`
  const headers = {
    ...commonHeaders,
    'content-type': 'text/html; charset=utf-8',
    'cache-control': 'no-store',
    'content-security-policy': `default-src 'none'; script-src 'nonce-${nonce}'; frame-ancestors 'none'`,
    'set-cookie': cookie,
  }
  return new Response(page, { headers })
}
