import { said } from '../../app/messages/said.ts'
import { WireFault } from './wire.ts'

/** Addresses in use by this process. Two readers of one port each get half of the bytes, so a second one is refused. */
const owners = new Map<string, string>()

/** Takes an address for one owner; the function returned gives it back. */
export function takeAddress(address: string, owner: string): () => void {
  const holder = owners.get(address)
  if (holder !== undefined) {
    throw new WireFault('refused', said('address-in-use', { address, holder }))
  }
  owners.set(address, owner)
  let held = true
  return () => {
    if (!held) return
    held = false
    owners.delete(address)
  }
}

/** Whether some link of this process holds the address. */
export function isTaken(address: string): boolean {
  return owners.has(address)
}
