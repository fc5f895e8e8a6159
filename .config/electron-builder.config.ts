import type { Configuration } from 'electron-builder'

/**
 * The packaged app: the bundles, the demo fleet and SQLite's binary. `electron-builder --config
 * .config/electron-builder.config.ts` runs where Electron and the packers can be downloaded, that is on the machine
 * that makes a release.
 */
const config: Configuration = {
  appId: 'app.tareline.desktop',
  productName: 'Tareline',
  executableName: 'tareline',
  directories: { output: 'release', buildResources: 'electron/icon' },
  files: [
    'dist/**',
    'demo-data/fleet/**',
    'package.json',
    '!**/*.map',
    '!node_modules/node-*/**',
    '!node_modules/node-addon-api/**',
    '!node_modules/better-sqlite3/{deps,src,binding.gyp}',
    // biome-ignore lint/suspicious/noTemplateCurlyInString: the packer fills these in
    '!node_modules/better-sqlite3/prebuilds/!(${platform}-${arch}).node',
  ],
  // A native module is loaded from a file on disk.
  asarUnpack: ['node_modules/better-sqlite3/prebuilds/**'],
  npmRebuild: false,
  publish: null,
  fileAssociations: [
    {
      ext: 'tareline',
      name: 'Tareline fleet',
      description: 'Tareline fleet file',
      mimeType: 'application/vnd.tareline.fleet',
      role: 'Editor',
      icon: 'fleet-file',
    },
  ],
  linux: { target: ['AppImage', 'deb'], category: 'Office', maintainer: 'The Tareline maintainers', icon: 'icon.png' },
  win: { target: 'nsis', icon: 'icon.ico', verifyUpdateCodeSignature: false },
  nsis: { oneClick: false, perMachine: false, allowToChangeInstallationDirectory: true },
  // The pattern above knows one kind of processor, so each gets a package of its own.
  mac: {
    target: [{ target: 'dmg', arch: ['arm64', 'x64'] }],
    category: 'public.app-category.business',
    icon: 'icon.icns',
    hardenedRuntime: true,
  },
  electronFuses: {
    runAsNode: false,
    enableNodeOptionsEnvironmentVariable: false,
    enableNodeCliInspectArguments: false,
    enableCookieEncryption: true,
    enableEmbeddedAsarIntegrityValidation: true,
    onlyLoadAppFromAsar: true,
    loadBrowserProcessSpecificV8Snapshot: false,
    grantFileProtocolExtraPrivileges: false,
  },
}

export default config
