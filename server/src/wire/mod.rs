//! The protocol: one handler a request, in `handlers`; conversions in
//! `from_proto` and `to_proto`.

mod abilities;
mod backend;
mod capabilities;
mod ending;
mod frames;
mod from_proto;
mod halves;
mod handlers;
mod outgoing;
mod pages;
mod publish;
mod to_proto;
mod watch;
mod worker;

use tower_lsp::{LspService, Server};

use backend::Backend;
use ending::Ending;
use outgoing::Outgoing;

/// So many requests may be under way at once. One that waits must not keep a
/// `$/cancelRequest` behind it from being read.
const CONCURRENCY: usize = 512;

/// So many bytes may be on their way inside.
const PIPE: usize = 64 * 1024;

/// Serves one client over standard input and output, until it says `exit`,
/// ends its stream, or its process ends.
///
/// # Errors
/// Where the threads it needs could not be started.
pub fn serve() -> std::io::Result<()> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    let worker = worker::Worker::start()?;
    let handle = runtime.handle().clone();
    runtime.block_on(async {
        let mut log = None;
        let building = LspService::build(|client| {
            let out = Outgoing::new(client, handle);
            log = Some(out.clone());
            worker.speak_through(out);
            Backend::new(worker)
        })
        .custom_method(handlers::overview::METHOD, Backend::derived);
        // The tests see to it that a fault costs one answer and no more.
        #[cfg(debug_assertions)]
        let building = building.custom_method("gutta/panic", Backend::panic);
        let (service, socket) = building.finish();
        let (into, input) = tokio::io::duplex(PIPE);
        tokio::spawn(async move {
            let stdin = tokio::io::BufReader::new(tokio::io::stdin());
            let tell = |text| {
                if let Some(out) = &log {
                    out.log_error(text);
                }
            };
            frames::pass_on(stdin, into, tell).await;
        });
        Server::new(input, tokio::io::stdout(), socket)
            .concurrency_level(CONCURRENCY)
            .serve(Ending::new(service))
            .await;
    });
    // A read of standard input that never returns must not keep the process.
    runtime.shutdown_background();
    Ok(())
}
