import { useMemo } from 'react'
import type { ChannelView } from '../../app/contract/views.ts'
import { ownOf } from '../live/quantity.ts'
import { Digits } from '../parts/Digits.tsx'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { StillWater } from '../signs/StillWater.tsx'
import { WATER_WORDS } from '../signs/water.ts'
import { measured } from '../text/measured.ts'
import { fixed, significant, unitSign } from '../text/numbers.ts'
import { TRAIL_MIN, type Trails, trailPath, trailSpan } from './replay.model.ts'

const deviation = (mk: number | null): string => (mk === null ? '–' : fixed(mk, Math.abs(mk) < 1000 ? 1 : 0))

/** Every channel as it was at the moment: its reading, its temperature, how it moved and whether it was settled. */
export function ReplayChannels({ channels, trails }: { channels: readonly ChannelView[]; trails: Trails }) {
  // Where all have the same unit it stands in the heading, else beside each number.
  const units = [...new Set(channels.map((channel) => ownOf(channel).unit))]
  const common = units.length === 1 ? units[0] : undefined
  const columns = useMemo(
    (): Column<ChannelView>[] => [
      { id: 'name', name: 'Channel', heads: true, value: ({ name }) => name },
      {
        id: 'raw',
        name: 'Reading',
        about: 'As the instrument sent it',
        value: ({ raw }) => raw,
        show: ({ raw, rawUnit }) => (raw === null ? '–' : `${raw} ${unitSign(rawUnit)}`),
      },
      {
        id: 'own',
        name: 'In its unit',
        about: 'In the unit that the bench gives the channel',
        ...(common !== undefined && { unit: common }),
        value: (channel) => ownOf(channel).value,
        measured: (channel) => {
          const { value, u, unit } = ownOf(channel)
          return value === null ? null : measured(value, unit, u, 2, 'scatter of the readings alone')
        },
        show: (channel) => <Digits bare={common !== undefined} {...ownOf(channel)} />,
      },
      {
        id: 'deviation',
        name: 'From setpoint',
        unit: 'mK',
        value: ({ deviationMk }) => deviationMk,
        show: ({ deviationMk }) => deviation(deviationMk),
      },
      {
        id: 'drift',
        name: 'Drift',
        unit: 'mK/min',
        value: ({ driftMkPerMin }) => driftMkPerMin,
        show: ({ driftMkPerMin }) => (driftMkPerMin === null ? '–' : fixed(driftMkPerMin, 2)),
      },
      {
        id: 'state',
        name: 'State',
        left: true,
        value: ({ settling }) => WATER_WORDS[settling.state],
        show: ({ settling }) => <StillWater state={settling.state} held={settling.held} still />,
      },
      {
        id: 'trail',
        name: `Span of ${TRAIL_MIN} min`,
        about: 'Between the lowest and the highest of the last moments shown',
        unit: 'mK',
        value: ({ id }) => trailSpan(trails.get(id) ?? []),
        show: ({ id }) => <Trail trail={trails.get(id) ?? []} />,
      },
    ],
    [trails, common],
  )
  return (
    <Table
      label="Channels at this moment"
      className="replay-channels"
      rows={channels}
      columns={columns}
      rowKey={({ id }) => id}
    />
  )
}

function Trail({ trail }: { trail: Parameters<typeof trailPath>[0] }) {
  const span = trailSpan(trail)
  return (
    <span className="trail">
      <svg viewBox="0 0 100 20" preserveAspectRatio="none" aria-hidden="true">
        <path d={trailPath(trail)} vectorEffect="non-scaling-stroke" />
      </svg>
      <span className="trail-span">{span === null ? '' : significant(span, 2)}</span>
    </span>
  )
}
