import { memo } from 'react'
import type { ArchiveRow } from '../../app/contract/studies.ts'
import { sketchPath } from './archive.model.ts'

/** The course of a session in little: the temperature of its reference from beginning to end. */
export const Sketch = memo(function Sketch({ sketch }: { sketch: ArchiveRow['sketch'] }) {
  return (
    <svg className="sketch" viewBox="0 0 100 20" preserveAspectRatio="none" aria-hidden="true">
      <path d={sketchPath(sketch)} vectorEffect="non-scaling-stroke" />
    </svg>
  )
})
