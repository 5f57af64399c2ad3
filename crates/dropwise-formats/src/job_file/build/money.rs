//! Amounts of money, prices and worths at a place in the job file.

use dropwise_model::Money;
use dropwise_shop::{Price, PriceError, parse_money};

use super::context::At;
use crate::job_file::tree::shortened;
use crate::job_file::types;

impl At<'_> {
    /// An amount to pay.
    pub(super) fn money(&self, amount: f64) -> Option<Money> {
        // As text, so that numbers and texts obey one set of rules: 8.1 is 810 coins, and 8.005 is refused.
        self.reported(&amount.to_string(), parse_money(&amount.to_string(), self.context.coinage))
    }

    /// The price of a sheet; `None` within when it is paid for.
    pub(super) fn price(&self, price: &types::Price) -> Option<Option<Price>> {
        match price {
            types::Price::Number(number) => {
                let text = number.to_string();
                self.reported(&text, Price::parse(&text, self.context.coinage)).map(Some)
            }
            types::Price::Text(text) if text.trim().eq_ignore_ascii_case("paid") => Some(None),
            types::Price::Text(text) => self.reported(text, Price::parse(text, self.context.coinage)).map(Some),
        }
    }

    /// A rate by weight, for leftovers and scrap.
    pub(super) fn worth(&self, worth: &types::Worth) -> Option<Price> {
        let price = self.reported(&worth.0, Price::parse(&worth.0, self.context.coinage))?;
        if price.per_area(1.0).is_none() {
            self.fault(
                format!("\"{}\" does not go by weight", shortened(&worth.0)),
                "Write, for example, \"0.20 per lb\" or \"0.45 per kg\"",
            );
            return None;
        }
        Some(price)
    }

    fn reported<T>(&self, text: &str, read: Result<T, PriceError>) -> Option<T> {
        read.map_err(|error| self.message(error.column, format!("\"{}\": {error}", shortened(text)))).ok()
    }
}
