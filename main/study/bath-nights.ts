import type { BathNight } from '../../app/contract/life.ts'
import { stepsOf } from '../../app/plan/earlier-night.ts'
import { StoreError } from '../store/errors.ts'
import { openSessionFile } from '../store/session-file.ts'
import { approaches } from './earlier-nights.ts'

/** A bath, and the benches that name it: sessions of before baths had entries are known by their bench and the bath's name there. */
export interface BathOf {
  readonly id: string
  readonly benches: readonly { readonly id: string; readonly bathName: string }[]
}

/** Sessions that were measured in a bath, and how long it took to each setpoint in them, in the order of the paths. */
export function bathNights(
  paths: readonly string[],
  bath: BathOf,
  goOn: () => void = () => undefined,
): BathNight[] {
  return paths.flatMap((path) => {
    goOn()
    return nightAt(path, bath) ?? []
  })
}

function nightAt(path: string, { id, benches }: BathOf): BathNight | undefined {
  try {
    const file = openSessionFile(path, { mode: 'read' })
    try {
      const { info, setup } = file
      const { bath, channels, id: bench } = setup.bench
      const isOfBefore =
        bath?.register === undefined && benches.some((b) => b.id === bench && b.bathName === bath?.name)
      if (!bath || info.kind === 'look' || (bath.register !== id && !isOfBefore)) return undefined
      const reference = channels.find(({ role }) => role === 'reference')
      const steps =
        setup.plan && reference
          ? stepsOf(
              file.events({ kinds: ['setpoint', 'settled'] }),
              setup.plan.settling,
              approaches(file, reference.id),
            )
          : []
      return {
        session: info.id,
        name: info.name,
        who: info.operator,
        startedUtcUs: info.startedUtcUs,
        steps: steps.map(({ fromC, toC, tookS, timeConstantS }) => ({ fromC, toC, tookS, timeConstantS })),
      }
    } finally {
      file.close()
    }
  } catch (fault) {
    // A file that cannot be read tells nothing of the bath; the archive says what is wrong with it.
    if (fault instanceof StoreError) return undefined
    throw fault
  }
}
