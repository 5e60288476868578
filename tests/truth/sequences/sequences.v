// Sequences of clocked chips, as a textbook writes them: D flip-flops with a clear, a
// synchronous counter with load, a 3 to 8 decoder, tri-state drivers. Made for tests/build/
// test_sequences.py; expected.txt is what Icarus Verilog makes of it:
//     iverilog -g2005 -o sequences sequences.v && vvp sequences > expected.txt
// A line: sequence, half periods since the start, outputs.
`timescale 1us / 1ns

module dff(input d, input clk, input clr_n, output reg q);
    always @(posedge clk or negedge clr_n) if (!clr_n) q <= 0; else q <= d;
endmodule

module ripple;  // 7474: each stage divides its clock by two
    reg clk, clr; wire [3:0] q;
    dff f0(~q[0], clk, clr, q[0]), f1(~q[1], ~q[0], clr, q[1]),
        f2(~q[2], ~q[1], clr, q[2]), f3(~q[3], ~q[2], clr, q[3]);
    integer k;
    initial begin
        for (k = 0; k < 30; k = k + 1) begin
            clr = !(k == 4 || k == 21); clk = k % 2 && k != 21;
            #0.9 $display("ripple %0d %b%b%b%b", k, q[0], q[1], q[2], q[3]); #0.1;
        end
    end
endmodule

module feedback;  // 74175, 7486, 7404: every word but 1111, fifteen clocks round
    parameter STUCK = 0;
    reg clk, clr; wire [3:0] q; wire x = (STUCK ? 1'b0 : q[2]) ^ q[3];
    dff f0(~x, clk, clr, q[0]), f1(q[0], clk, clr, q[1]),
        f2(q[1], clk, clr, q[2]), f3(STUCK ? 1'b0 : q[2], clk, clr, q[3]);
    integer k;
    initial begin
        for (k = 0; k < 40; k = k + 1) begin
            clr = k > 1; clk = k % 2 && k > 1;
            #0.9;
            if (STUCK) $display("stuck %0d %b%b%b", k, q[0], q[1], q[3]);
            else $display("feedback %0d %b%b%b", k, q[0], q[1], q[3]);
            #0.1;
        end
    end
endmodule

module shift;  // 74175 never cleared: what was unknown goes out at the far end
    reg clk, d; wire [3:0] q;
    dff f0(d, clk, 1'b1, q[0]), f1(q[0], clk, 1'b1, q[1]),
        f2(q[1], clk, 1'b1, q[2]), f3(q[2], clk, 1'b1, q[3]);
    integer k;
    initial begin
        for (k = 0; k < 14; k = k + 1) begin
            clk = k % 2; d = k / 2 % 3 == 0;
            #0.9 $display("shift %0d %b%b%b%b", k, q[0], q[1], q[2], q[3]); #0.1;
        end
    end
endmodule

module count;  // 74161 with load and enable, its low three bits into a 74138
    reg clk, clr, load, enable; reg [3:0] q; wire carry = &q & enable;
    wire [7:0] y = ~(8'b1 << q[2:0]);
    always @(posedge clk or negedge clr)
        if (!clr) q <= 0; else if (!load) q <= 4'b1101; else if (enable) q <= q + 1;
    integer k;
    initial begin
        for (k = 0; k < 36; k = k + 1) begin
            clr = k > 1; clk = k % 2 && k > 1; load = !(k == 8 || k == 9); enable = !(k == 18 || k == 19);
            #0.9 $display("count %0d %b%b%b%b%b%b%b", k, q[0], q[1], q[2], q[3], carry, y[0], y[7]);
            #0.1;
        end
    end
endmodule

module bus;  // 74125: two drivers of one line, never both, and a pull-up
    reg a, b, ena, enb; wire y; pullup (y);
    bufif0 (y, a, ena); bufif0 (y, b, enb);
    integer k;
    initial begin
        for (k = 0; k < 6; k = k + 1) begin
            a = 0; b = 1; ena = k % 3 != 0; enb = k % 3 != 1;
            #0.9 $display("bus %0d %b", k, y); #0.1;
        end
    end
endmodule

module sequences;
    ripple a(); feedback b(); feedback #(1) c(); shift d(); count e(); bus f();
endmodule
