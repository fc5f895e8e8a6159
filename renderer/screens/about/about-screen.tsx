import { Button, Checkbox, TextInput } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { AboutFacts } from '#core/contracts/about.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { saveFile } from '#renderer/parts/save-file.ts'
import { NotForTrade } from '#renderer/parts/cautions.tsx'
import { count } from '#renderer/parts/format.ts'
import '#renderer/parts/notice.css'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import '#renderer/parts/sheet-table.css'
import { ScreenTitle } from '#renderer/parts/ticket-link.tsx'
import './about-screen.css'
import shipped from './shipped-packages.json'

async function readNotices(): Promise<string> {
  const answer = await fetch('/notices.txt')
  if (!answer.ok) throw new Error('The licences’ texts are not part of this copy of Tareline.')
  return await answer.text()
}

/** The texts, fetched when they are asked for. */
function Notices() {
  const notices = useQuery({ queryKey: ['notices'], queryFn: readNotices })
  if (notices.isPending) return <output className="quiet">Fetching the texts…</output>
  if (notices.isError) return <ProblemNotice title="The texts could not be shown" error={notices.error} />
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className="about-notices" aria-label="Texts of the licences" tabIndex={0}>
      <pre>{notices.data}</pre>
    </section>
  )
}

/** The packages of others whose code is in the app, with their licences. */
export function Licences() {
  const [text, setText] = useState('')
  const [open, setOpen] = useState(false)
  const wanted = text.trim().toLowerCase()
  const found = shipped.filter(
    ({ name, license }) => name.toLowerCase().includes(wanted) || license.toLowerCase().includes(wanted),
  )
  return (
    <section className="about-section" aria-labelledby="licences-title">
      <h2 id="licences-title">Licences</h2>
      <p>
        {count(shipped.length)} packages of others are in this app. Their licences allow that; this is who and what.
      </p>
      <div className="about-tools">
        <TextInput
          label="Find a package or licence"
          value={text}
          onChange={(event) => setText(event.currentTarget.value)}
        />
        <Button variant="default" aria-expanded={open} onClick={() => setOpen(!open)}>
          {open ? 'Hide the texts' : 'Show the texts'}
        </Button>
        <output className="quiet">{wanted && `${count(found.length)} found`}</output>
      </div>
      {open && <Notices />}
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
      <section className="about-packages" aria-label="Packages and their licences" tabIndex={0}>
        <table className="sheet-table">
          <thead>
            <tr>
              <th scope="col">Package</th>
              <th scope="col">Version</th>
              <th scope="col">Licence</th>
            </tr>
          </thead>
          <tbody>
            {found.map(({ name, version, license }) => (
              <tr key={`${name} ${version}`}>
                <th scope="row">{name}</th>
                <td>{version}</td>
                <td>{license}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </section>
  )
}

function Facts({ facts }: { facts: AboutFacts }) {
  const { version, step, sqlite, node, electron, chromium, system, file, logFolder } = facts
  return (
    <dl className="about-facts">
      <dt>Tareline</dt>
      <dd>{version}</dd>
      <dt>Fleet file format</dt>
      <dd>step {step}</dd>
      <dt>SQLite</dt>
      <dd>{sqlite}</dd>
      <dt>Node</dt>
      <dd>{node}</dd>
      <dt>Window</dt>
      <dd>{electron === null ? 'the installed browser' : `Electron ${electron}, Chromium ${chromium ?? 'unknown'}`}</dd>
      <dt>System</dt>
      <dd>{system}</dd>
      <dt>Fleet file</dt>
      <dd className="about-path">
        {file} <a href={hrefOf('copies')}>its copies</a>
      </dd>
      <dt>Log</dt>
      <dd className="about-path">{logFolder}</dd>
    </dl>
  )
}

function SupportBundle() {
  const [withFleet, setWithFleet] = useState(false)
  const saving = useMutation(api.about.supportBundle.mutationOptions({ onSuccess: saveFile }))
  return (
    <section className="about-section" aria-labelledby="support-title">
      <h2 id="support-title">Support bundle</h2>
      <p>
        One ZIP file for whoever helps you: the versions above, the log, and of the fleet file its size, whether it is
        whole and how many rows its tables have. The log holds no names, units, plates or folders. Nothing is sent
        anywhere: you save the file and decide who gets it.
      </p>
      <Checkbox
        checked={withFleet}
        onChange={(event) => setWithFleet(event.currentTarget.checked)}
        size="sm"
        label="With a copy of the whole fleet file"
        description="Units, plates, weights and the names of people are then in the bundle."
      />
      <Button className="about-button" loading={saving.isPending} onClick={() => saving.mutate({ withFleet })}>
        Save the support bundle
      </Button>
      {saving.isError && <ProblemNotice title="The bundle was not saved" error={saving.error} />}
      {saving.data && (
        <p role="status">
          Saved as {saving.data.name}
          {saving.variables.withFleet ? ', with the fleet file in it.' : ', without fleet data.'}
        </p>
      )}
    </section>
  )
}

/** What runs here, where its files lie, what to give to whoever helps, and whose work is in it. */
export function AboutScreen() {
  const facts = useQuery(api.about.facts.queryOptions({ refetchOnMount: 'always' }))
  return (
    <div className="about">
      <title>About · Tareline</title>
      <ScreenTitle>About Tareline</ScreenTitle>
      <p className="about-words">
        Keeps a fleet’s onboard axle weights honest. Everything stays on this computer: the app calls no other.
      </p>
      {facts.isPending && <output className="quiet">Looking at what runs here…</output>}
      {facts.isError && (
        <ProblemNotice title="The versions could not be read" error={facts.error}>
          <Button variant="default" onClick={() => facts.refetch()}>
            Try again
          </Button>
        </ProblemNotice>
      )}
      {facts.data && <Facts facts={facts.data} />}
      <NotForTrade />
      <SupportBundle />
      <Licences />
    </div>
  )
}
