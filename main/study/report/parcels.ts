import type { Parcel } from '../../../app/contract/studies.ts'
import type { Analysis } from '../../../app/results/analysis.ts'
import { certificatesOf } from './certificates.ts'

/** What each customer of a session gets: which items, which certificate each, and what it replaces. */
export function parcelsOf(analysis: Analysis): Parcel[] {
  const parcels = new Map<string, Parcel>()
  for (const { certificate, result, file } of certificatesOf(analysis)) {
    const { customer, issue, item } = certificate.matter
    const key = customer?.name ?? ''
    const parcel = parcels.get(key) ?? {
      customer: customer?.name ?? null,
      address: [...(customer?.address ?? [])],
      items: [],
    }
    parcel.items.push({
      thermometer: item.id,
      name: item.name,
      serial: item.serial,
      number: issue.number,
      version: issue.version,
      signed: issue.signedOff !== null,
      replaces: issue.replaces && { version: issue.replaces.version, date: issue.replaces.date },
      digital: result.fit !== null,
      file,
    })
    parcels.set(key, parcel)
  }
  return [...parcels.values()]
}
