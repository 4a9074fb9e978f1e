import type { PlanPreview } from '../../app/contract/studies.ts'
import type { PreviewSource } from '../../app/plan/preview-check.ts'
import { WorkerPool, workerScript } from '../store/worker-pool.ts'
import type { PREVIEW_TASKS } from './preview-tasks.ts'

/** What plans will take, worked out away from the loop that measures, and not behind a report. */
export class Previews {
  readonly #thread = new WorkerPool<typeof PREVIEW_TASKS>({
    script: workerScript('preview-worker', import.meta.url),
  })

  of(source: PreviewSource, signal?: AbortSignal): Promise<PlanPreview> {
    return this.#thread.ask(signal).preview(source)
  }

  close(): Promise<void> {
    return this.#thread.close()
  }
}
