import type { ContractRouterClient } from '@orpc/contract'
import type { Contract } from '../../app/contract/index.ts'
import { personStore } from '../page/person.ts'

const KEPT = 'stillpoint-person'

/** Keeps this window signed in: over the browser's end, or until its tab is closed. */
export function keepToken(token: string, stay = localStorage.getItem(KEPT) !== null): void {
  forgetToken()
  const where = stay ? localStorage : sessionStorage
  where.setItem(KEPT, token)
}

export const keptToken = (): string | null => sessionStorage.getItem(KEPT) ?? localStorage.getItem(KEPT)

export function forgetToken(): void {
  sessionStorage.removeItem(KEPT)
  localStorage.removeItem(KEPT)
}

/** Says to a station that was just joined who sits here, and learns how it sees this window. */
export async function present(client: ContractRouterClient<Contract>): Promise<void> {
  const token = keptToken()
  const seen = token === null ? await client.people.me() : await client.people.comeBack({ token })
  personStore.setState(seen)
}
