import { counted } from '../../../app/base/plural.ts'
import { duration } from '../../../app/base/times.ts'
import type { FoundPlateau } from '../../../app/contract/checks.ts'
import { Table } from '../../parts/Table.tsx'
import type { Column } from '../../parts/table.column.ts'
import { fixed } from '../../text/numbers.ts'
import { clockTime, localDateTime } from '../../text/times.ts'
import { withU } from './written.ts'

const KINDS: Record<FoundPlateau['kind'], string> = {
  melt: 'Melt',
  freeze: 'Freeze',
  hold: 'Hold',
  chosen: 'Chosen by hand',
}
const HEATING: Record<FoundPlateau['heatingFrom'], string> = {
  'two-currents': 'from two currents on this plateau',
  register: 'from the register, in proportion to I²R',
  given: 'as typed',
  none: 'not known, none taken off',
}

type Component = FoundPlateau['components'][number]

const componentColumns = (wholeMk: number): Column<Component>[] => [
  { id: 'name', name: 'Component', heads: true, value: ({ name }) => name },
  { id: 'u', name: 'u', unit: 'mK', value: ({ uMk }) => uMk, show: ({ uMk }) => fixed(uMk, 4) },
  { id: 'kind', name: 'Type', left: true, value: ({ kind }) => kind },
  {
    id: 'degrees',
    name: 'Degrees of freedom',
    value: ({ degreesOfFreedom }) => degreesOfFreedom ?? '∞',
    show: ({ degreesOfFreedom }) => (degreesOfFreedom === null ? '∞' : fixed(degreesOfFreedom, 0)),
  },
  {
    id: 'part',
    name: 'Part of u²',
    unit: '%',
    value: ({ uMk }) => (100 * uMk ** 2) / wholeMk ** 2,
    show: ({ uMk }) => fixed((100 * uMk ** 2) / wholeMk ** 2, 0),
  },
]

/** What the plateau gives, and of what: every number unfolds to its inputs. */
export function PlateauFacts({
  found,
  name,
  currentMa,
}: {
  found: FoundPlateau
  name: string
  currentMa: number
}) {
  const { used, pair } = found
  const uOhm = (found.uMk / 1e3) * found.ohmPerKelvin
  return (
    <>
      <dl className="facts result-facts">
        <dt>{`R(${name}) at zero current`}</dt>
        <dd>
          <strong>{withU(found.ohm, uOhm, 'Ω')}</strong>
        </dd>
        <dt>Temperature of the element</dt>
        <dd>{`${fixed(found.t90C, 6)} °C`}</dd>
        <dt>W</dt>
        <dd>{found.w === null ? 'once the water triple point is in the set' : fixed(found.w, 8)}</dd>
        <dt>Uncertainty</dt>
        <dd>{`U = ${fixed(2 * found.uMk, 2)} mK (k = 2)`}</dd>
        <dt>Plateau</dt>
        <dd>
          {`${KINDS[found.kind]}, ${duration(found.lengthS)}` +
            (found.supercoolMk === null
              ? ''
              : `, supercooled by ${fixed(found.supercoolMk / 1e3, 2)} K before it`)}
        </dd>
      </dl>
      <details>
        <summary>How this came about</summary>
        <dl className="facts">
          <dt>Readings used</dt>
          <dd>{`${found.n} from ${localDateTime(used.fromUtcUs)} to ${clockTime(used.toUtcUs, true)}, between numbers ${used.firstSeq} and ${used.lastSeq} of the session; effective number ${fixed(found.nEffective, 1)}`}</dd>
          <dt>{`Mean at ${fixed(currentMa, 3)} mA`}</dt>
          <dd>{`${fixed(found.meanOhm, 7)} Ω, SD ${fixed(found.sdMk, 3)} mK, slope ${fixed(found.driftMkPerHour, 3)} mK/h`}</dd>
          <dt>Self-heating</dt>
          <dd>{`${fixed(found.selfHeatingMk, 3)} mK, ${HEATING[found.heatingFrom]}`}</dd>
          {pair && (
            <>
              <dt>Two currents</dt>
              <dd>{`${fixed(pair.lowOhm, 7)} Ω at ${fixed(pair.lowMa, 3)} mA (${counted(pair.nLow, 'reading')}), ${fixed(pair.highOhm, 7)} Ω at ${fixed(pair.highMa, 3)} mA (${pair.nHigh}); R(0) = R₁ − I₁² (R₂ − R₁) / (I₂² − I₁²)`}</dd>
            </>
          )}
          <dt>Hydrostatic head</dt>
          <dd>{`${fixed(found.headMk, 3)} mK, ITS-90 table 2`}</dd>
          <dt>Pressure</dt>
          <dd>{`${fixed(found.pressureMk, 3)} mK, ITS-90 table 2`}</dd>
          <dt>dR/dt there</dt>
          <dd>{`${fixed(found.ohmPerKelvin, 7)} Ω/K`}</dd>
        </dl>
      </details>
      <details>
        <summary>{`What u = ${fixed(found.uMk, 3)} mK is made of`}</summary>
        <Table
          label="Components of the uncertainty"
          rows={found.components}
          columns={componentColumns(found.uMk)}
          rowKey={({ name }) => name}
          sortedBy={{ column: 'u', down: true }}
        />
      </details>
      {found.notes.length > 0 && (
        <ul className="checks" aria-label="Taken for want of better">
          {found.notes.map((note) => (
            <li key={note} className="check check-warning">
              <strong>{note}</strong>
            </li>
          ))}
        </ul>
      )}
    </>
  )
}
