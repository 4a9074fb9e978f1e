import type { Foretold, PlanPreview } from '../../app/contract/studies.ts'
import type { PreviewSource } from '../../app/plan/preview-check.ts'
import type { StationStore } from '../store/station-store.ts'
import { WorkerPool, workerScript } from '../store/worker-pool.ts'
import { readBudgetTemplates } from '../study/report/budget-folder.ts'
import type { PREVIEW_TASKS, PreviewGround } from './preview-tasks.ts'

/** Sessions that are looked through for nights on the bench. */
const MOST_LOOKED_AT = 40

/** What the preview of a plan rests on beside the plan: earlier nights and the laboratory's choices. */
export function previewGround(store: StationStore, folder: string): PreviewGround {
  const settings = store.settings()
  return {
    sessions: store
      .sessionIds('ended')
      .slice(0, MOST_LOOKED_AT)
      .map((id) => store.sessionPath(id)),
    options: {
      templates: readBudgetTemplates(folder),
      ...(settings && { coverageProbability: settings.coverageProbability }),
    },
  }
}

/** What plans will take and bring, worked out away from the loop that measures, and not behind a report. */
export class Previews {
  readonly #ground: () => PreviewGround
  /** Two threads, so that who waits to start a night never waits for what is foretold of it. */
  readonly #threads = new WorkerPool<typeof PREVIEW_TASKS>({
    script: workerScript('preview-worker', import.meta.url),
    most: 2,
    priorities: { foretell: 'long' },
  })

  constructor(ground: () => PreviewGround) {
    this.#ground = ground
  }

  of(source: PreviewSource, signal?: AbortSignal): Promise<PlanPreview> {
    return this.#threads.ask(signal).preview(source, this.#ground())
  }

  foretell(source: PreviewSource, signal?: AbortSignal): Promise<Foretold> {
    return this.#threads.ask(signal).foretell(source, this.#ground())
  }

  close(): Promise<void> {
    return this.#threads.close()
  }
}
